# SPDX-License-Identifier: MIT
"""A system with other sections equals one prepared afresh, and leaves the first as it was."""

import numpy as np
import pytest
from small_models import ALL, grid

import fea
from fea.errors import ModelError

PLASTIC = fea.Isotropic(youngs_modulus=1400.0, poisson_ratio=0.42)
STEEL = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3)
PLY = fea.Ply(e1=120e3, e2=9e3, nu12=0.3, g12=4e3, g23=3e3)
LOADS = {
    "push": [fea.SurfaceForce("skin", (0.0, 0.002, 0.01))],
    "pull": [fea.PointForce("top", (3.0, 0.0, 1.0), (0.0, 20.0, 0.0))],
}
THIN = fea.ShellSection(PLASTIC, thickness=2.0)
LAMINATE = fea.ShellSection(fea.Laminate(PLY, [0, 45, 90], 0.4), offset=0.5)
BAR = fea.StrutSection.rectangle(STEEL, width=8.0, depth=3.0, up=(1, 0, 0))
STOUT = fea.StrutSection.rectangle(STEEL, width=12.0, depth=6.0, up=(1, 0, 0))


def model(skin, bar):
    """A bulged sheet on a bed, with a bar tied to its middle."""
    sheet = grid(6, 5, lambda u, v: (60 * u, 50 * v, 8 * u * (1 - u)))
    count = len(sheet.points)
    patch = sheet.zone_nodes("skin")[[14, 15, 20, 21]]
    foot = sheet.points[patch].mean(axis=0)
    mesh = fea.Mesh(
        np.concatenate([sheet.points, [foot, foot + [0, 0, 40.0]]]),
        {"triangle": sheet.cells["triangle"], "line": [[count, count + 1]]},
        places={**sheet.places, "foot": [count], "top": [count + 1], "patch": patch},
        zones={**sheet.zones, "bar": ("line", [0])},
    )
    return fea.Model(
        mesh,
        {"skin": skin, "bar": bar},
        [fea.Support("u0", ALL)],
        LOADS,
        ties=[fea.Tie("foot", "patch")],
        beds=[fea.Bed("skin", None, 1e-3, 1e-4)],
    )


@pytest.mark.parametrize(
    "changed", [{"skin": LAMINATE}, {"bar": STOUT}, {"skin": LAMINATE, "bar": STOUT}]
)
def test_other_sections_give_what_a_fresh_system_gives(changed):
    first = fea.prepare(model(THIN, BAR))
    before = first.solve(LOADS)["push"].displacement.copy()
    again = first.with_sections(changed)
    fresh = fea.prepare(model(**{"skin": THIN, "bar": BAR, **changed}))
    assert again.pattern is first.pattern
    assert again.motion is first.motion
    assert abs(again.reduced - fresh.reduced).max() == 0.0
    for case, solution in again.solve(LOADS).items():
        expected = fresh.solve(LOADS)[case]
        scale = np.abs(expected.displacement).max()
        assert np.abs(solution.displacement - expected.displacement).max() <= 1e-12 * scale
        assert [gate.name for gate in solution.gates] == [gate.name for gate in expected.gates]
    np.testing.assert_array_equal(first.solve(LOADS)["push"].displacement, before)


def test_a_zone_without_a_section_is_refused():
    with pytest.raises(ModelError, match="zone 'wing' has no section to replace.*'skin', 'bar'"):
        fea.prepare(model(THIN, BAR)).with_sections({"wing": THIN})


def test_a_section_of_the_wrong_kind_is_refused():
    with pytest.raises(ModelError, match="zone 'bar' is made of line cells"):
        fea.prepare(model(THIN, BAR)).with_sections({"bar": THIN})
