# SPDX-License-Identifier: MIT
"""A refinement study: what is compared, what is refused, what becomes of a subdivided device."""

from dataclasses import replace

import numpy as np
import pytest
from fake_refinement import LEVELS, findings, study

import fea
from fea.check.check import NotChecked
from fea.errors import InputError
from fea.limb import Limb
from fea.structure.realise import device_mass, realise
from fea.study.refine import RATIO, compared, refine, subdivided_device

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
ADULT = fea.Wearer(mass_kg=68, height_mm=1630, side="left")


def lacking(result):
    return [gap for gap in result.not_checked if gap.topic == "mesh refinement"]


@pytest.fixture(scope="module")
def bare():
    return fea.read_device("bare-two-upright-polypropylene-child")


@pytest.fixture(scope="module")
def refined(bare):
    said = []
    return refine(bare, CHILD, sizes=[14.0, 20.0], progress=said.append), said


def test_computed_values_are_compared_without_their_error_estimate():
    found = study().peaks[0].convergence
    assert found.values == pytest.approx((23.6, 21.6, 20.9))
    assert found.order == pytest.approx(2.0)
    assert found.extrapolated == pytest.approx(20.0)


def test_a_peak_far_from_its_limit_is_not_checked():
    made = study()
    # 23.6 is 18 % off 20.0; 5.0 is 17 % off the highest, 6.0; 61.006 is close to 61.0
    assert [peak.close for peak in made.peaks] == [False, False, True]
    assert [gap.zone for gap in lacking(made.assessment)] == ["calf-shell", "foot-plate"]
    assert "18 % off the value that finer meshes lead to" in lacking(made.assessment)[0].because
    assert "17 % off the highest" in lacking(made.assessment)[1].because
    assert made.sentence.startswith("1 of 3 peaks")
    # 20.0 MPa against 24 MPa with a factor of 1.5
    assert made.peaks[0].utilisation == pytest.approx(20.0 * 1.5 / 24.0)


def test_the_case_of_the_judged_mesh_is_compared():
    base = study().assessment
    other = [tuple(replace(check, case="another", demand=1.2 * check.demand) for check in checks)
             for checks in (findings(base.checks, level) for level in range(3))]
    both = [(*findings(base.checks, level), *other[level]) for level in range(3)]
    assert compared(base, LEVELS, both).peaks == study().peaks
    alone = compared(base, LEVELS, [both[0], other[1], other[2]])
    assert alone.peaks[0].cases == (base.checks[0].case, "another", "another")


def test_a_check_that_finer_meshes_lack_is_not_checked():
    base = study().assessment
    found = [findings(base.checks, level) for level in range(3)]
    found[1] = (*found[1][1:], NotChecked(topic="yield", zone="calf-shell", because="left out"))
    made = compared(base, LEVELS, found)
    assert [peak.check.zone for peak in made.peaks] == ["foot-plate", "lateral-bar"]
    assert any("no such check" in gap.because for gap in lacking(made.assessment))


def test_another_strength_of_a_ply_is_weighed_by_its_share():
    base = study().assessment
    found = [findings(base.checks, level) for level in range(3)]
    first = found[1][0]
    found[1] = (replace(first, demand=2 * first.demand, error=2.0, capacity=2 * first.capacity),
                *found[1][1:])
    assert compared(base, LEVELS, found).peaks == study().peaks


def changed(change):
    """The study with the first check of each mesh, and its size, put through `change`."""
    base = study().assessment
    found = [findings(base.checks, level) for level in range(3)]
    found = [(change(one[0], level.size), *one[1:])
             for one, level in zip(found, LEVELS, strict=True)]
    judged = replace(base, checks=found[0], not_checked=())
    return compared(judged, LEVELS, found)


def test_a_peak_that_moves_leads_nowhere_and_is_not_checked():
    # 13 mm are more than two cells of 6 mm
    made = changed(lambda check, size: replace(check, place=(0.0, 13.0 * (size < 5), 1.0)))
    peak = made.peaks[0]
    assert peak.moved and not peak.close
    found = peak.convergence
    assert (found.extrapolated, found.gci, found.safety_factor) == (None, None, None)
    assert peak.utilisation == pytest.approx(23.6 * 1.5 / 24.0)  # the highest value
    words = lacking(made.assessment)[0].because
    assert "the peak moved from (0, 0, 1) to (0, 13, 1)" in words
    assert "from 20.9 to 23.6 MPa over the meshes, and no value is extrapolated" in words


def test_a_peak_that_moves_by_a_cell_or_two_has_not_moved():
    made = changed(lambda check, size: replace(check, place=(0.0, 11.0 * (size < 5), 1.0)))
    assert not made.peaks[0].moved
    assert made.peaks[0].convergence.extrapolated == pytest.approx(20.0)


def test_on_finer_meshes_less_is_a_move():
    # 11 mm between the finer two, of 4 and 3 mm
    made = changed(lambda check, size: replace(check, place=(0.0, 11.0 * (size < 3.5), 1.0)))
    assert made.peaks[0].moved


def test_a_buckle_has_no_place_that_counts():
    made = changed(lambda check, size: replace(
        check, topic="buckling", unit="1", place=(0.0, 50.0 * (size < 5), 1.0)))
    assert not made.peaks[0].moved


def test_a_peak_that_grows_leads_nowhere_and_is_not_checked_however_small_its_steps():
    # like r^(-0.01): 1 % from the coarsest to the finest, and no end
    made = changed(lambda check, size: replace(
        check, place=(0.0, 0.0, 1.0), demand=20.0 * size**-0.01 + check.error))
    peak = made.peaks[0]
    assert peak.convergence.manner == "growing" and not peak.moved
    assert peak.deviation < 0.01 and not peak.close
    assert "grows from mesh to mesh without settling" in lacking(made.assessment)[0].because
    assert "from 19.6 to 19.8 MPa" in lacking(made.assessment)[0].because


def test_finer_meshes_leave_out_what_the_judged_one_does(bare, monkeypatch):
    asked = []

    def watched(device, wearer, *, outside, **more):
        asked.append(outside)
        return fea.assess(device, wearer, outside=outside, **more)

    monkeypatch.setattr("fea.study.refine.assess", watched)
    made = refine(bare, CHILD, sizes=[20.0, 14.0], step=None)
    assert asked[0] is None
    assert asked[1].mesh is made.assessment.device.mesh


def test_the_coarsest_mesh_is_judged(bare, refined):
    made, said = refined
    assert [level.size for level in made.levels] == sorted(
        (level.size for level in made.levels), reverse=True)
    plain = fea.assess(bare, CHILD, size=20.0)
    assert made.assessment.checks == plain.checks
    assert made.assessment.step == plain.step
    gaps = [gap for gap in lacking(made.assessment) if "no such check" in gap.because]
    assert len(made.peaks) + len(gaps) == len(plain.checks)
    cells = made.levels[1].cells
    assert any(f"mesh 2 of 2: {cells} cells of" in line for line in said)


def test_a_recipe_takes_its_own_size_first(bare, monkeypatch):
    asked = []

    def only_ask(device, wearer, *, size, **_):
        asked.append(size)
        raise InputError("enough")

    monkeypatch.setattr("fea.study.refine.assess", only_ask)
    with pytest.raises(InputError, match="enough"):
        refine(bare, CHILD)
    assert asked == [bare.size]
    assert RATIO >= 1.3


@pytest.mark.parametrize(
    ("options", "words"),
    [({"levels": 1}, "two meshes"), ({"sizes": [6.0]}, "two cell sizes"),
     ({"sizes": [6.0, 5.0]}, "factor of 1.3"), ({"sizes": [6.0, 0.0]}, "factor of 1.3")],
)
def test_what_is_no_study_is_refused(bare, options, words):
    with pytest.raises(InputError, match=words):
        refine(bare, CHILD, **options)


def test_a_mesh_has_no_sizes():
    with pytest.raises(InputError, match="subdivided and not meshed anew"):
        refine(fea.read_device("ribbed-polypropylene-child-surface"), CHILD, sizes=[6.0, 4.0])


def test_a_subdivided_device_keeps_its_walls_bars_and_washers():
    coarse = fea.read_device("aluminium-bars-adult").fit(Limb.of(ADULT), 12.0)
    zone = "front piece"
    uneven = np.linspace(4.0, 5.0, len(coarse.mesh.zone_cells(zone)))
    coarse = replace(coarse, walls={
        **coarse.walls, zone: replace(coarse.walls[zone], thickness=uneven)})
    fine = subdivided_device(coarse)
    assert device_mass(realise(fine)) == pytest.approx(device_mass(realise(coarse)), rel=0.01)
    assert fine.walls[zone].thickness == pytest.approx(np.repeat(uneven, 4))
    for fastening in fine.fastenings:
        bar, patch = (coarse.mesh.place(name) for name in
                      (fastening.bar_place, fastening.shell_place))
        assert fine.mesh.place(fastening.bar_place).tolist() == bar.tolist()
        more = fine.mesh.place(fastening.shell_place)
        assert set(patch) < set(more)
        middle = coarse.mesh.points[bar[0]]
        reach = np.linalg.norm(coarse.mesh.points[patch] - middle, axis=1).max()
        assert np.linalg.norm(fine.mesh.points[more] - middle, axis=1).max() < 1.02 * reach
