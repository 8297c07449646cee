# SPDX-License-Identifier: MIT
"""A wet lay-up has its own numbers or none: nothing is taken from a better laminate."""

import numpy as np
import pytest

from fea.check.capacity import capacity_of
from fea.check.check import NotChecked
from fea.check.factors import read_factors
from fea.check.interlaminar import STRENGTH, judge_interlaminar_shear
from fea.check.plies import PLY_STRENGTHS, judge_plies
from fea.check.strength import Spot
from fea.errors import InputError
from fea.material.library import find_material, read_library

LIBRARY, FACTORS = read_library(), read_factors()
SPOT = Spot("heel", "push-off", np.zeros((1, 3)))
STRENGTHS = (*PLY_STRENGTHS, STRENGTH)
OWN = """
[materials.my-acrylic]
title = "Carbon and acrylic, own coupons"
kind = "laminate"
[materials.my-acrylic.properties]
e1_mpa = { value = 20000, source = "own test", status = "measured" }
e2_mpa = { value = 20000, source = "own test", status = "measured" }
nu12 = { value = 0.1, source = "own test", status = "measured" }
g12_mpa = { value = 1900, source = "own test", status = "measured" }
"""


@pytest.mark.parametrize("name", ["carbon-acrylic", "my-acrylic"])
def test_strengths_that_nobody_gave_stay_unknown(name, tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(OWN)
    material = read_library(path)[name]
    given = {key for key in STRENGTHS if material.property(key) is not None}
    assert given == ({"tensile_strength_1", "tensile_strength_2"} if name == "carbon-acrylic"
                     else set())
    for key in STRENGTHS:
        assert (capacity_of(material, key, FACTORS) is None) == (key not in given)
    findings = (*judge_plies(SPOT, np.ones((1, 1, 3, 3)), [0], material, FACTORS).findings,
                *judge_interlaminar_shear(SPOT, np.ones((1, 1, 2)), material, FACTORS).findings)
    absent = {f.topic: f.because for f in findings if isinstance(f, NotChecked)}
    assert set(absent) == {"ply stress", "interlaminar shear"}
    assert all(f"'{name}'" in words and "measure it" in words for words in absent.values())


def test_the_acrylic_is_no_stronger_than_it_was_tested():
    acrylic, cloth = LIBRARY["carbon-acrylic"], LIBRARY["carbon-cloth-epoxy"]
    for key in ("tensile_strength_1", "tensile_strength_2"):
        assert capacity_of(acrylic, key, FACTORS).value < 0.4 * cloth.property(key).value
        assert acrylic.property(key).source != cloth.property(key).source


@pytest.mark.parametrize("name", ["carbon", "carbon-cloth", "carbon-prepreg", "Carbon-Acrylic", ""])
def test_a_name_that_is_not_in_the_library_is_refused(name):
    with pytest.raises(InputError, match="unknown material"):
        find_material(LIBRARY, name)


def test_no_material_of_the_library_is_a_prepreg():
    """Whoever uses one brings its data sheet."""
    assert not any("prepreg" in f"{name} {one.title}".lower() for name, one in LIBRARY.items())


@pytest.mark.parametrize(
    ("key", "factor"),
    [("tensile_strength_1", 0.77), ("tensile_strength_2", 0.77), ("compressive_strength_1", 0.73),
     ("compressive_strength_2", 0.73), ("shear_strength_12", 0.73), (STRENGTH, 0.73)],
)  # fmt: skip
def test_warmth_and_damp_by_the_mode_that_they_weaken(key, factor):
    capacity = capacity_of(LIBRARY["carbon-cloth-epoxy"], key, FACTORS)
    assert f"times {factor:.2f} hot and wet" in capacity.basis
    dry = LIBRARY["carbon-cloth-epoxy"].property(key).value
    scatter = FACTORS.partial("material_scatter", "laminate").value
    assert capacity.value == pytest.approx(dry * factor / scatter)


def test_a_measured_factor_replaces_that_of_its_mode_alone(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text('[materials.carbon-cloth-epoxy.properties]\n'
                    'hot_wet_factor_shear = { value = 0.5, source = "own test", '
                    'status = "measured" }\n')
    cloth = read_library(path)["carbon-cloth-epoxy"]
    assert "times 0.50 hot" in capacity_of(cloth, STRENGTH, FACTORS).basis
    assert "times 0.50 hot" in capacity_of(cloth, "shear_strength_12", FACTORS).basis
    assert "times 0.73 hot" in capacity_of(cloth, "compressive_strength_1", FACTORS).basis
    assert "times 0.77 hot" in capacity_of(cloth, "tensile_strength_1", FACTORS).basis
