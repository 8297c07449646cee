# SPDX-License-Identifier: MIT
"""What the materials of the library outlive, by hand."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest

from fea.check.factors import read_factors
from fea.check.lifecurve import UnknownLifeError, life_curve, ply_curves
from fea.material.library import read_library
from fea.material.life import Goodman

LIBRARY, FACTORS = read_library(), read_factors()


def curve(name):
    return life_curve(LIBRARY[name], FACTORS)


def test_aluminium_is_divided_by_scatter_and_surface():
    found = curve("aluminium-7075-t6")
    assert found.middle.line.amplitude == pytest.approx(159.0 / 1.67)
    assert found.sure.line.amplitude == pytest.approx(159.0 / 1.67 / 1.3)
    assert found.sure.line.life(0.9 * 572.0 / 1.3) == pytest.approx(1e3)
    assert found.sure.mean_stress == Goodman(pytest.approx(572.0 / 1.10))
    assert found.published is None
    assert "factor for surface: memory-M" in found.note and "goodman-1899" in found.sources
    assert "0.9 of the tensile strength at 1e+03 cycles: memory-M" in found.note
    assert {"shigley-2011", "haibach-2006"} <= set(found.sources)
    assert "exponent 2k - 1 beyond" in found.basis


def test_polypropylene_is_warm_and_ends_where_published_tests_end():
    found = curve("polypropylene-homopolymer")
    assert found.published == 9e4
    assert found.middle.line.amplitude == pytest.approx(11.0 * 0.78)
    assert found.middle.line.life(34.0 * 0.78) == pytest.approx(1.0)
    # R = 0.1: 8.55 about 10.45 does what 11 does fully reversed
    assert found.middle.life(8.55 * 0.78, 10.45 * 0.78) == pytest.approx(1e6, rel=1e-6)
    assert found.sure.tension == pytest.approx(31.0 * 0.78)


def test_a_plastic_without_a_second_ratio_is_judged_by_goodman():
    found = curve("polypropylene-copolymer")
    assert isinstance(found.sure.mean_stress, Goodman)


def test_printed_walls_are_judged_across_their_layers():
    found = curve("polyamide-12-sintered")
    warm = 1.0 / 1.33
    assert found.middle.life(8.4 * warm, 8.4 * warm) == pytest.approx(1e6, rel=1e-6)
    assert found.published == 1e6


def test_cloth_bears_what_three_stress_ratios_say():
    along, across, shear = ply_curves(LIBRARY["carbon-cloth-epoxy"], FACTORS)
    pull, push = 725.0 * 0.77, 518.0 * 0.73  # hot and wet
    assert along.middle.line.amplitude == pytest.approx(0.45 * push)
    largest = 0.35 * pull  # compression, R = 10
    assert along.middle.life(0.45 * largest, -0.55 * largest) == pytest.approx(1e6, rel=1e-6)
    tension = 0.65 * pull  # below the 0.70 of R = 0.1
    assert along.middle.life(0.45 * tension, 0.55 * tension) >= 1e6
    assert across.middle.line.amplitude == pytest.approx(0.45 * 480.0 * 0.73)
    assert shear.middle.mean_stress == Goodman(*[pytest.approx(67.0 * 0.73 / 1.2)] * 2)
    assert "fatigue ratio matrix: assumed" in shear.note


def test_single_fibres_have_a_matrix_across_them():
    _, across, _ = ply_curves(LIBRARY["carbon-ud-epoxy"], FACTORS)
    assert isinstance(across.sure.mean_stress, Goodman)


@pytest.mark.parametrize("name", ["titanium-6al-4v", "carbon-acrylic"])
def test_what_nobody_measured_is_not_guessed(name):
    material = LIBRARY[name]
    judge = ply_curves if material.kind == "laminate" else life_curve
    with pytest.raises(UnknownLifeError, match=f"is known for '{name}'; measure it"):
        judge(material, FACTORS)


def test_a_doubtful_number_is_no_limit():
    material = LIBRARY["aluminium-6061-t6"]
    row = replace(material.property("fatigue_amplitude"), status="memory-L")
    properties = MappingProxyType({**material.properties, "fatigue_amplitude": row})
    with pytest.raises(UnknownLifeError, match="fatigue amplitude"):
        life_curve(replace(material, properties=properties), FACTORS)


def test_every_curve_falls_and_is_surer_below_the_middle():
    for material in LIBRARY.values():
        try:
            found = (
                ply_curves(material, FACTORS) if material.kind == "laminate"
                else (life_curve(material, FACTORS),)
            )  # fmt: skip
        except UnknownLifeError:
            continue
        for each in found:
            sizes = np.geomspace(0.02, 0.9, 30) * each.sure.tension
            for mean in (-0.5, 0.0, 0.5):
                sure, middle = each.sure.life(sizes, mean * sizes), each.middle.life(
                    sizes, mean * sizes
                )
                assert (np.diff(sure) <= 0.0).all() and (sure <= middle).all()


EFFECTS = [effect for effect, rows in FACTORS.table.items()
           if any(part.applies == "life" for part in rows.values())]  # fmt: skip


@pytest.mark.parametrize("effect", EFFECTS)
@pytest.mark.parametrize(
    "name",
    ["polypropylene-homopolymer", "aluminium-7075-t6", "carbon-cloth-epoxy", "carbon-ud-epoxy",
     "polyamide-12-sintered"],
)  # fmt: skip
def test_every_factor_of_life_shortens_the_life_of_every_kind(name, effect):
    material = LIBRARY[name]
    rows = {kind: replace(part, value=2.0) for kind, part in FACTORS.table[effect].items()}
    table = MappingProxyType({**FACTORS.table, effect: MappingProxyType(rows)})
    harsh = replace(FACTORS, table=table)

    def curves(factors):
        if material.kind == "laminate":
            return ply_curves(material, factors)
        return (life_curve(material, factors),)

    for plain, harsher in zip(curves(FACTORS), curves(harsh), strict=True):
        small = 0.5 * harsher.sure.line.amplitude
        assert harsher.sure.life(small, 0.0) < plain.sure.life(small, 0.0)
        assert f"over 2.00 for {effect}" in harsher.basis
