# SPDX-License-Identifier: MIT
"""What mechanics guarantees of changes, whatever they are.

That ribs moved forward stiffen, and shorter ones serve less, stands beside published numbers in
tests/validation/test_bench_ribs_chatzistergos_2023.py; that a strip outside stiffens more than one
inside, beside beams in tests/validation/test_bonded_strip_beams.py.
"""

from dataclasses import replace

import numpy as np
import pytest
from benches import CALF, CHILD, stiffness
from hypothesis import given, settings
from hypothesis import strategies as st
from standing_walls import LIBRARY, tube, upright

import fea
from fea.device.change import apply_change
from fea.device.changefile import AddedBar, Change, Overlay, ZoneChange
from fea.limb import Limb
from fea.mesh.mesh import Mesh
from fea.structure.realise import realise

CANTILEVER = upright()
TUBE = tube(height=160.0, columns=3, rows=12)
SHEETS = {"soft": {"thickness_mm": 2.0}, "aluminium-6061-t6": {"thickness_mm": 0.8}}


def solved(device, force):
    """The solution under a force (and moment) spread over the top of walls clamped at the foot."""
    z = device.mesh.points[:, 2]
    mesh = device.mesh.with_places({"feet": np.flatnonzero(z < 1e-6),
                                    "lid": np.flatnonzero(z > z.max() - 1e-6)})
    made = realise(device)
    structure = fea.Structure(mesh, made.sections, [fea.Support("feet", "ux uy uz rx ry rz")],
                              ties=made.ties)
    loads = [fea.PointForce("lid", tuple(force[:3]), tuple(force[3:]) or None)]
    return fea.solve(structure.with_cases({"push": loads}))["push"]


def compliance(device, force):
    """Work of the force on its way."""
    return solved(device, force).work


def without(device):
    """The same cells with the walls as they were under what is bonded on."""
    bases = {zone: zone.partition(" on ")[2] or zone for zone in device.walls}
    return replace(device, walls={zone: TUBE.walls[base] for zone, base in bases.items()})


@st.composite
def overlays(draw):
    low = draw(st.floats(0.0, 110.0))
    keys = {
        "name": "patch",
        "zones": draw(st.sets(st.sampled_from(sorted(TUBE.walls)), min_size=1).map(sorted)),
        "face": draw(st.sampled_from(["outer", "inner"])),
        "from_mm": low,
        "to_mm": low + draw(st.floats(15.0, 60.0)),
        "width_mm": draw(st.none() | st.floats(6.0, 35.0)),
    }
    material = draw(st.sampled_from(["carbon-ud-epoxy", *SHEETS]))
    angles = draw(st.lists(st.sampled_from([0.0, 30.0, 45.0, 90.0, -45.0]), min_size=2, max_size=4))
    size = SHEETS.get(material, {"layup": {"angles_deg": angles, "thicknesses_mm": 0.3}})
    return Overlay.model_validate(keys | {"material": material} | size)


@settings(max_examples=25, deadline=None)
@given(overlay=overlays(), force=st.lists(st.floats(-1.0, 1.0), min_size=6, max_size=6))
def test_added_material_never_raises_the_compliance(overlay, force):
    force = np.array(force) * [1, 1, 1, 50, 50, 50] + [0.1, 0, 0, 0, 0, 0]
    patched = apply_change(TUBE, Change(title="A patch", overlays=(overlay,)), LIBRARY)
    assert compliance(patched, force) <= compliance(without(patched), force) * (1 + 1e-9)


@st.composite
def bars(draw):
    low = draw(st.floats(4.0, 60.0))
    return AddedBar.model_validate({
        "name": "bar",
        "zones": [draw(st.sampled_from(sorted(TUBE.walls)))],
        "material": draw(st.sampled_from(["soft", "stiff", "stainless-steel-316l"])),
        "from_mm": low,
        "to_mm": low + draw(st.floats(60.0, 95.0)),
        "aside_mm": draw(st.floats(-8.0, 8.0)),
        "width_mm": draw(st.floats(8.0, 20.0)),
        "thickness_mm": draw(st.floats(1.0, 6.0)),
        "rivets": {"count": draw(st.integers(2, 4)), "diameter_mm": 4.0, "washer_diameter_mm": 10.0,
                   "end_distance_mm": 6.0},
    })


def bare(device):
    """The same walls on the same cells without the bars."""
    mesh, count = device.mesh, device.mesh.cells["triangle"].max() + 1
    walls = {zone: mesh.zones[zone] for zone in device.walls}
    alone = Mesh(mesh.points[:count], {"triangle": mesh.cells["triangle"]}, zones=walls)
    return replace(device, mesh=alone, bars={}, fastenings=())


@settings(max_examples=5, deadline=None)
@given(bar=bars(), force=st.lists(st.floats(-1.0, 1.0), min_size=6, max_size=6))
def test_an_added_bar_never_raises_the_compliance(bar, force):
    force = np.array(force) * [1, 1, 1, 50, 50, 50] + [0.1, 0, 0, 0, 0, 0]
    riveted = apply_change(TUBE, Change(title="A bar", bars=(bar,)), LIBRARY)
    assert compliance(riveted, force) <= compliance(bare(riveted), force) * (1 + 1e-9)


@settings(max_examples=10, deadline=None)
@given(times=st.floats(1.0, 2.0), zones=st.sets(st.sampled_from(sorted(TUBE.walls)), min_size=1))
def test_a_thicker_wall_never_raises_the_compliance(times, zones):
    thicker = ZoneChange(zones=tuple(sorted(zones)), thickness_times=times)
    changed = apply_change(TUBE, Change(title="Thicker", zones=(thicker,)), LIBRARY)
    push = [1.0, 0.5, -0.3, 0.0, 0.0, 20.0]
    assert compliance(changed, push) <= compliance(TUBE, push) * (1 + 1e-9)


def test_what_is_bonded_on_does_change_it():
    whole = Overlay.model_validate({"name": "patch", "zones": tuple(TUBE.walls), "face": "outer",
                                    "material": "soft", "thickness_mm": 3.0})
    patched = apply_change(TUBE, Change(title="Doubled", overlays=(whole,)), LIBRARY)
    push = [1.0, 0.0, 0.0, 0.0, 0.0, 0.0]
    assert compliance(patched, push) < 0.6 * compliance(without(patched), push)
    outer = compliance(patched, push)
    inside = whole.model_copy(update={"face": "inner"})
    patched = apply_change(TUBE, Change(title="Doubled", overlays=(inside,)), LIBRARY)
    assert outer < compliance(patched, push)  # further from the axis of bending


def test_walls_under_the_patch_are_the_walls_of_the_tube():
    patched = apply_change(TUBE, Change(title="A patch", overlays=(Overlay.model_validate({
        "name": "patch", "zones": ["front"], "face": "outer", "from_mm": 31.0, "to_mm": 77.0,
        "material": "soft", "thickness_mm": 1.0}),)), LIBRARY)
    push = [1.0, 0.0, 0.0, 0.0, 0.0, 0.0]
    assert compliance(without(patched), push) == pytest.approx(compliance(TUBE, push), rel=0.02)


@settings(max_examples=10, deadline=None)
@given(times=st.floats(0.3, 0.99), push=st.sampled_from([(1.0, 0.0, 0.0), (0.0, 1.0, 0.0),
                                                         (0.3, 0.2, -2.0)]))
def test_uniform_thinning_of_a_cantilever_never_lowers_its_stress(times, push):
    thinner = ZoneChange(zones=("upright",), thickness_times=times)
    thin = apply_change(CANTILEVER, Change(title="Thinner", zones=(thinner,)), LIBRARY)
    before, after = (np.abs(solved(device, push).stress("upright", "top")[:, 0])
                     for device in (CANTILEVER, thin))
    assert (after >= before * (1 - 1e-9)).all()


def test_a_trim_line_behind_the_malleolus_softens():
    """Ankle stiffness of the shipped child's device on a bench, its uprights narrowed to fit."""
    recipe, limb = fea.read_device("ribbed-polypropylene-child"), Limb.of(CHILD)
    found = []
    for ahead in (18.0, 6.0, -5.0):
        change = Change(title="Trimmed", values={"upright_width_mm": 45.0,
                                                 "ankle.anterior_trim_mm": ahead})
        found.append(stiffness(apply_change(recipe, change).fit(limb, 14.0), CALF, 5e3))
    assert found[0] > found[1] > found[2]
    assert found[2] < 0.8 * found[0]
