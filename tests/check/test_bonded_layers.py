# SPDX-License-Identifier: MIT
"""A sheet bonded on an upright: layers, bond and gaps, by hand (beam of two layers)."""

from dataclasses import replace

import numpy as np
import pytest
from standing_walls import SOFT, STIFF, sheet_material, upright

import fea
from fea.check.check import Check, NotChecked
from fea.check.factors import read_factors
from fea.check.interlaminar import BOND, BOND_STRENGTH
from fea.check.judgement import judge
from fea.device.change import apply_change
from fea.device.changefile import Change, Overlay
from fea.material.library import Property, read_library
from fea.structure.realise import realise

WIDTH, HEIGHT, WALL, SHEET, PUSH = 20.0, 200.0, 4.0, 1.0, 2.0
LIBRARY = {**read_library(), "soft": sheet_material("soft", SOFT, "thermoplastic"),
           "stiff": sheet_material("stiff", STIFF)}
FACTORS = read_factors()
ZONE = "strip on upright"

# about the axis that both layers share, above the inner face of the wall
AXIS = (SOFT * WALL**2 / 2 + STIFF * SHEET * (WALL + SHEET / 2)) / (SOFT * WALL + STIFF * SHEET)
STIFFNESS = SOFT * (WALL**3 / 12 + WALL * (WALL / 2 - AXIS) ** 2)
STIFFNESS += STIFF * (SHEET**3 / 12 + SHEET * (WALL + SHEET / 2 - AXIS) ** 2)


def findings(library=LIBRARY, **keys):
    keys = {"name": "strip", "zones": ["upright"], "face": "outer", "material": "stiff"} | keys
    if "layup" not in keys:
        keys["thickness_mm"] = SHEET
    device = upright()
    device = replace(device, walls={"upright": replace(device.walls["upright"],
                                                       material=library["soft"])})
    change = Change(title="A strip", overlays=(Overlay.model_validate(keys),))
    device = apply_change(device, change, library)
    z = device.mesh.points[:, 2]
    mesh = device.mesh.with_places({"feet": np.flatnonzero(z < 1e-6),
                                    "top": np.flatnonzero(z > HEIGHT - 1e-6)})
    structure = fea.Structure(mesh, realise(device).sections,
                              [fea.Support("feet", "ux uy uz rx ry rz")])
    push = fea.EdgeForce("top", (PUSH / WIDTH, 0.0, 0.0))
    solutions = fea.solve(structure.with_cases({"push": [push]}))
    return judge(replace(device, mesh=mesh), solutions, FACTORS).findings


def checks(found, topic):
    return [each for each in found if isinstance(each, Check) and each.topic == topic]


def gaps(found, topic):
    return [each for each in found if isinstance(each, NotChecked) and each.topic == topic]


def test_each_layer_is_held_against_the_yield_of_its_own_material():
    soft, stiff = checks(findings(), "yield")
    assert "layer 1 of 2 of the wall, of soft" in soft.basis and "bottom of" in soft.basis
    assert "layer 2 of 2 of the wall, of stiff" in stiff.basis and "top of" in stiff.basis
    for check, modulus, fibre in ((soft, SOFT, AXIS), (stiff, STIFF, WALL + SHEET - AXIS)):
        moment = PUSH / WIDTH * (HEIGHT - check.place[2])
        assert check.computed == pytest.approx(modulus * moment * fibre / STIFFNESS, rel=0.02)
        assert check.zone == ZONE
    # scatter, warmth and creep take off what they take off a plastic, and off a metal
    assert "warmth" in soft.basis and "warmth" not in stiff.basis


def test_on_the_inner_face_the_layers_lie_the_other_way_round():
    soft, stiff = checks(findings(face="inner"), "yield")
    assert "layer 2 of 2 of the wall, of soft" in soft.basis and "top of" in soft.basis
    assert "layer 1 of 2 of the wall, of stiff" in stiff.basis and "bottom of" in stiff.basis


def test_shear_in_the_bond_follows_from_equilibrium():
    strong = dict(LIBRARY["stiff"].properties)
    strong[BOND_STRENGTH] = Property(8.0, "MPa", "assumed", "measured")
    library = LIBRARY | {"stiff": replace(LIBRARY["stiff"], properties=strong)}
    found = findings(library)
    (bond,) = checks(found, BOND)
    shear = PUSH / WIDTH * STIFF * SHEET * (WALL + SHEET / 2 - AXIS) / STIFFNESS
    assert bond.computed - bond.error < shear < bond.demand
    # slopes scatter at the loaded rim, beside which the worst place lies
    assert bond.place[2] > 190.0 and bond.computed == pytest.approx(shear, rel=0.12)
    assert bond.capacity < 8.0 and "in the bond of stiff on the wall" in bond.basis
    assert not gaps(found, BOND)


def test_without_a_strength_the_bond_is_not_checked_and_the_cure_is_said():
    (gap,) = gaps(findings(), BOND)
    assert "bond shear strength" in gap.because and "material file" in gap.because


def test_peel_and_what_a_warm_wall_hands_over_are_not_checked():
    found = findings()
    (peel,) = gaps(found, "peel")
    assert "ends and edges" in peel.because and peel.zone == ZONE
    (shift,) = gaps(found, "load taken over from a warm wall")
    assert "soft" in shift.because and "--materials" in shift.because
    alike = findings(LIBRARY | {"soft": sheet_material("soft", SOFT)})
    assert not gaps(alike, "load taken over from a warm wall")


def test_plies_are_held_against_the_criteria_for_plies_and_the_wall_against_yield():
    found = findings(material="carbon-cloth-epoxy",
                     layup={"angles_deg": [45.0, 0.0, 0.0], "thicknesses_mm": 0.25})
    (soft,) = checks(found, "yield")
    assert "layer 1 of 4" in soft.basis
    (stress,) = checks(found, "ply stress")
    assert "along axis 1" in stress.basis and "ply 4 at 0°" in stress.basis
    (between,) = checks(found, "interlaminar shear")
    # the bond, below ply 2, and the wall are not held against the strength between plies
    assert any(words in between.basis for words in (
        "in the middle of ply 2,", "between plies 2 and 3,", "in the middle of ply 3,",
        "between plies 3 and 4,", "in the middle of ply 4,"))


def test_where_stress_does_not_converge_nothing_is_said_to_hold():
    (held,) = gaps(findings(), "local peak")
    assert "something is bonded on" in held.because


def test_softening_is_that_of_each_material():
    device = apply_change(upright(), Change(title="A strip", overlays=(Overlay.model_validate({
        "name": "strip", "zones": ["upright"], "face": "outer", "material": "stiff",
        "thickness_mm": SHEET}),)), LIBRARY)
    soft = device.softened(lambda material: 0.5 if material.name == "soft" else 1.0)
    wall, layup = soft.walls[ZONE], soft.walls[ZONE].layup
    assert [ply.youngs_modulus for ply in layup.plies] == [0.5 * SOFT, STIFF]
    assert [each.elastic.youngs_modulus for each in wall.layers] == [0.5 * SOFT, STIFF]
    assert {each.name for each in device.materials} == {"soft", "stiff"}
