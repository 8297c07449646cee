# SPDX-License-Identifier: MIT
"""The shipped load sets: their numbers against their sources, and what they do on every device."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fea.cli import run
from fea.device.facing import landmark
from fea.device.reader import read_device
from fea.limb import Limb
from fea.loadcase.applied import applied_push, plate_bend
from fea.loadcase.gait import allowed_near, children_gait, foot_cop, foot_pitch
from fea.loadcase.reaction import ground_reaction
from fea.loadcase.reader import read_load_set
from fea.loadcase.shank import shank_to_vertical
from fea.shipped import shipped_names
from fea.structure.loads import patch_shares
from fea.structure.realise import ground_load, plate_span
from fea.units import STANDARD_GRAVITY
from fea.wearer import read_wearer

SETS = shipped_names("loadcases")
BORROWED = [name for name in SETS if name.startswith("borrowed-")]


@pytest.fixture(scope="module")
def worn():
    """Every shipped device on a demo wearer of its size: device, wearer, limb."""
    found = {}
    for name in shipped_names("meshes"):
        wearer = read_wearer("demo-adult" if "adult" in name else "demo-child")
        limb = Limb.of(wearer)
        found[name] = read_device(name).fit(limb, 12.0), wearer, limb  # coarse: nothing is solved
    return found


def react(instant, device, wearer, limb):
    return ground_reaction(
        instant, wearer=wearer, ankle=landmark(device, "ankle_axis"),
        foot_length=limb.foot_length, plate_span=plate_span(device),
        shank_length=limb.shank_length,
        shank_to_vertical=shank_to_vertical(device.sole, limb.measures["ball_length_mm"]),
    )  # fmt: skip


def push_on(push, device, wearer, limb):
    return applied_push(push, wearer=wearer, foot_length=limb.foot_length,
                        zones=device.mesh.zones, landmarks=device.landmarks)  # fmt: skip


def bend_of(bend, device, wearer, limb):
    return plate_bend(bend, wearer=wearer, ankle=landmark(device, "ankle_axis"),
                      foot_length=limb.foot_length, plate_span=plate_span(device))  # fmt: skip


def cases(name):
    return {case.name: case for case in read_load_set(name).cases}


@pytest.mark.parametrize("name", SETS)
def test_every_set_acts_on_every_shipped_device(name, worn):
    load_set = read_load_set(name)
    for device, wearer, limb in worn.values():
        for instant in load_set.instants:
            reaction = react(instant, device, wearer, limb)
            heel, end = plate_span(device)
            assert heel < reaction.cop[0] < end
            moment = np.cross(reaction.cop - landmark(device, "ankle_axis"), reaction.force)
            assert reaction.dorsiflexing_moment == pytest.approx(-moment[1])
            patch_shares(ground_load(device, replace(reaction, free_moment=0.0)), device.mesh)
        for push in load_set.pushes:
            push_on(push, device, wearer, limb)
        for bend in load_set.bends:
            nodes = np.unique(np.concatenate(
                [device.mesh.zone_nodes(zone) for zone in device.plate_zones]
            ))  # fmt: skip
            bend_of(bend, device, wearer, limb).motion(device.mesh.points[nodes])


@pytest.mark.parametrize("name", SETS)
def test_forces_grow_with_body_mass_and_nothing_else_does(name, worn):
    device, wearer, limb = worn["bare-two-upright-polypropylene-child"]
    heavy = replace(wearer, mass_kg=1.4 * wearer.mass_kg)
    load_set = read_load_set(name)
    for instant in load_set.instants:
        light, strong = (react(instant, device, who, limb) for who in (wearer, heavy))
        np.testing.assert_allclose(strong.force, 1.4 * light.force)
        np.testing.assert_allclose(strong.cop, light.cop)
        assert strong.dorsiflexing_moment == pytest.approx(1.4 * light.dorsiflexing_moment)
        assert strong.free_moment == pytest.approx(1.4 * light.free_moment)
    for push in load_set.pushes:
        light, strong = (push_on(push, device, who, limb) for who in (wearer, heavy))
        np.testing.assert_allclose(strong.force, 1.4 * light.force)
    for bend in load_set.bends:
        light, strong = (bend_of(bend, device, who, limb) for who in (wearer, heavy))
        assert strong.largest_moment == pytest.approx(1.4 * light.largest_moment)
        assert strong.angle == light.angle


# Largest vertical force in body weights, and the published peak that it must not pass.
PEAKS = {
    "walking-envelope": 1.56,  # Schwartz 2008, free speed: largest first peak of one child
    "weak-quadriceps": 1.56,
    "turning": 1.56,
    "typical-step": 1.135,  # mean first peak at free speed, each child's own
    "typical-step-adult": 1.15,  # Winter 1991, from memory: 1.10 to 1.15
    "crouch": 1.10,  # from memory: 0.95 to 1.10
    "heel-strike-rigid": 1.63,  # largest first peak of one child, fast
    "ramp": 1.63,
    "fast-walking": 2.01,  # the same, very fast
    "stairs": 1.6,  # Stacoff 2005: mean of up to 1.6
    "stumble": 5.0,  # below landings on one leg, from memory: 3 to 5
}


@pytest.mark.parametrize("name", PEAKS)
def test_forces_stay_within_published_peaks(name):
    largest = max(instant.fz_bw for instant in read_load_set(name).instants)
    assert 0.8 * min(PEAKS[name], 3.0) <= largest <= PEAKS[name]


@pytest.mark.parametrize("name", SETS)
def test_what_is_covered_is_said_and_nothing_rests_on_a_vague_memory(name):
    load_set = read_load_set(name)
    assert len(load_set.title) > 20 and len(load_set.note) > 200
    rows = [row for case in load_set.cases for row in case.provenance.values()]
    assert rows and all(row.status != "memory-L" for row in rows)
    assert len({case.name for case in load_set.cases}) == len(load_set.cases)


def test_the_command_line_lists_each_set_on_one_line(capsys):
    assert run(["list"]) == 0
    lines = capsys.readouterr().out.splitlines()
    for name in SETS:
        found = [line for line in lines if line.split("  ")[0] == name]
        assert len(found) == 1 and found[0].endswith(read_load_set(name).title)
        assert len(found[0]) < 130


def test_crouch_limit_by_hand(worn):
    # No shear: 0.25 + (L / FL) sin s. With L = 0.246 H and FL = 0.1565 H that is 0.914 foot lengths
    # at 25 degrees and 1.036 at 30 (winter-2009, snyder-1977).
    device, wearer, limb = worn["bare-two-upright-polypropylene-child"]
    proportioned = {"shank_length": 0.246 * 1410.0, "foot_length": 0.1565 * 1410.0}
    for angle, place in ((25, 0.914), (30, 1.036)):
        reached = "knee unloaded as far as the plate reaches"
        instant = cases("crouch")[f"shank {angle} degrees forward, {reached}"]
        reaction = ground_reaction(
            instant, wearer=wearer, ankle=(0.0, 0.0, 57.0), plate_span=(-60.0, 500.0),
            **proportioned,
        )  # fmt: skip
        found = 0.25 + reaction.cop[0] / proportioned["foot_length"]
        assert found == pytest.approx(place, abs=2e-3) and reaction.moved_back == 0.0
        held = react(instant, device, wearer, limb)  # a plate of one foot length
        by_hand = 0.25 + limb.shank_length / limb.foot_length * math.sin(math.radians(angle))
        assert (held.moved_back > 0.0) == (by_hand > 0.94)
        assert ("moved to the end of the plate" in held.description) == (held.moved_back > 0.0)


def test_weak_quadriceps_stand_as_shoe_and_device_hold_them(worn):
    device, wearer, limb = worn["ribbed-polypropylene-child"]
    # By hand: set -3 deg, arctan(8 / 162.34) = 2.82 deg.
    for name, angle in (("first peak on the forefoot", -0.18),
                        ("forefoot contact, heel up", 9.82)):  # fmt: skip
        reaction = react(cases("weak-quadriceps")[name], device, wearer, limb)
        assert math.degrees(reaction.shank_angle) == pytest.approx(angle, abs=0.01)
        assert reaction.dorsiflexing_moment > 0.0  # ahead of the ankle, so it straightens the knee


@pytest.mark.parametrize("name", ["weak-quadriceps", "heel-strike-rigid"])
def test_forces_are_those_of_the_instant(name):
    for case in read_load_set(name).instants:
        if case.name == "contact, toes up":
            near = allowed_near(0.06)
            assert case.fz_bw == pytest.approx(near.fz_bw, abs=6e-4)
            assert case.fx_bw == pytest.approx(near.fx_then_bw[1], abs=6e-4)
            continue
        curve = children_gait()["fast" if "fast" in case.name else "free"].at([case.percent])
        assert case.fz_bw == pytest.approx(curve.fz_bw[0] + 2 * curve.fz_sd_bw[0], abs=6e-4)
        scatter = 2 * curve.fx_sd_bw[0]
        sign = -1 if case.percent < 30 and "rolling" not in case.name else 1
        assert case.fx_bw == pytest.approx(curve.fx_bw[0] + sign * scatter, abs=6e-4), case.name


def test_fast_walking_holds_what_fast_stance_allows():
    found = cases("fast-walking")
    heel = found.pop("heel strike, heel held down by a rigid device")
    curve = children_gait()["very fast"].at([7])
    assert heel.fz_bw == pytest.approx(curve.fz_bw[0] + 2 * curve.fz_sd_bw[0], abs=6e-4)
    assert heel.fx_bw == pytest.approx(curve.fx_bw[0] - 2 * curve.fx_sd_bw[0], abs=6e-4)
    for name, case in found.items():
        place = 0.94 if case.cop == "plate-end" else case.cop
        near = allowed_near(place, ("fast", "very fast"))
        assert case.fz_bw == pytest.approx(near.fz_bw, abs=6e-4), name
        shear = near.fx_then_bw[0] if case.pitch_deg else near.fx_bw["braking" not in name]
        assert case.fx_bw == pytest.approx(shear, abs=6e-4), name
        assert case.percent == pytest.approx(near.percent, abs=0.05), name
        assert case.pitch_deg in (0.0, pytest.approx(near.pitch_deg, abs=0.3)), name


def envelope_at(cop, *, driving):
    """Vertical force and shear of the flat, unpushed walking envelope at a place."""
    rows = [i for i in read_load_set("walking-envelope").instants
            if i.cop == cop and not i.pitch_deg and not i.fy_bw]  # fmt: skip
    row = max(rows, key=lambda i: i.fx_bw if driving else -i.fx_bw)
    return row.fz_bw, row.fx_bw


@pytest.mark.parametrize(("name", "factor"), [("ramp", 1.15), ("stumble", 2.0)])
def test_overloads_are_the_walking_envelope_times_their_factor(name, factor):
    for case in read_load_set(name).instants:
        up = any(word in case.name for word in ("uphill", "driving", "pushed"))
        fz, fx = envelope_at(case.cop, driving=up)
        slope = math.sin(math.atan(1 / 12)) * (1 if up else -1) if name == "ramp" else 0.0
        assert case.fz_bw == pytest.approx(factor * fz, abs=6e-4), case.name
        assert case.fx_bw == pytest.approx(factor * fx + slope * factor * fz, abs=2e-3), case.name
        assert abs(case.fy_bw) in (0.0, pytest.approx(factor * 0.10))


def test_stairs_carry_the_mean_of_the_steepest_stair_and_the_shear_of_walking():
    for case in read_load_set("stairs").instants:
        assert case.fz_bw == 1.6
        if case.fx_bw:
            fz, fx = envelope_at(case.cop, driving="driving" in case.name)
            assert case.fx_bw == pytest.approx(fx * 1.6 / fz, abs=1e-3)


def test_nobody_turns_harder_than_the_sole_grips(worn):
    pivots = [case for case in read_load_set("turning").instants if case.free_moment_nm_per_kg]
    assert len(pivots) == 4 and sum(case.free_moment_nm_per_kg for case in pivots) == 0.0
    # Mean distance from the middle, foot lengths, breadth 0.377: of a rectangle and of a disc.
    along = (np.arange(400) + 0.5) / 400 - 0.5
    arms = (np.hypot(along[:, None], 0.377 * along).mean(), 2 / 3 * 0.377 / 2)
    for device, wearer, limb in worn.values():
        for case in pivots:
            reaction = react(case, device, wearer, limb)
            arm = arms["forefoot" in case.name] * 250.0  # of a foot of 0.25 m
            assert abs(reaction.free_moment) == pytest.approx(reaction.force[2] * arm, rel=0.01)
            assert reaction.shank_angle is None
    # Corner: v² / (g r) with r one leg length is the dimensionless speed squared.
    sideways = {abs(c.fy_bw) for c in read_load_set("turning").instants if c.fy_bw}
    assert list(sideways) == [pytest.approx(0.429**2 + 0.10, abs=1e-3)]


def test_toes_bend_as_far_as_the_foot_is_pitched():
    for bend in read_load_set("toe-bend").bends:
        curve = children_gait()["free"].at([bend.percent])
        assert bend.angle_deg == pytest.approx(math.degrees(foot_pitch(curve)[0]), abs=0.4)
        assert bend.fz_bw == pytest.approx(curve.fz_bw[0] + 2 * curve.fz_sd_bw[0], abs=0.01)
        assert 0.5 * (bend.held_to + bend.turned_from) == pytest.approx(0.74)  # the ball


def test_adult_step_lies_in_the_published_ranges(worn):
    found = cases("typical-step-adult")
    peak = found["second peak, with the peak ankle moment"]
    assert 1.5 <= peak.moment_nm_per_kg <= 1.7 and 1.05 <= peak.fz_bw <= 1.15
    assert 1.10 <= found["first peak"].fz_bw <= 1.15 and 0.70 <= found["valley"].fz_bw <= 0.80
    for name, stance in (("first peak", 22.5), ("valley", 47.5), (peak.name, 77.5)):
        assert found[name].percent == pytest.approx(0.62 * stance, abs=0.15)
    for name in ("first peak", "valley"):
        curve = children_gait()["free"].at([found[name].percent])
        assert found[name].cop == pytest.approx(foot_cop(curve)[0], abs=1e-4)
        assert found[name].pitch_deg == pytest.approx(math.degrees(foot_pitch(curve)[0]), abs=0.05)
    reaction = react(peak, *worn["polypropylene-adult"])
    moved = reaction.force[2] * reaction.moved_back  # this plate ends before the push
    assert reaction.dorsiflexing_moment + moved == pytest.approx(1.6 * 68.0 * 1e3)
    # 68 kg x 9.80665 x sqrt(1.10² + 0.20²) = 745.6 N
    assert np.linalg.norm(reaction.force) == pytest.approx(745.6, abs=0.1)


# ISO 10328, level for 100 kg, N: heel condition, forefoot condition.
STANDARD = {
    "borrowed-cyclic": (1330, 1200),
    "borrowed-proof": (2240, 2013),
    "borrowed-ultimate-ductile": (3360, 3019),
    "borrowed-ultimate-brittle": (4480, 4025),
}


@pytest.mark.parametrize("name", BORROWED)
def test_borrowed_forces_stand_each_at_its_own_place(name):
    found = cases(name)
    for case, force, ahead in (("heel condition", STANDARD[name][0], -32.0),
                               ("forefoot condition", STANDARD[name][1], 120.0)):  # fmt: skip
        assert found[case].fz_bw == pytest.approx(force / (100 * STANDARD_GRAVITY), abs=6e-5)
        assert found[case].cop == pytest.approx(0.25 + ahead / 271.2, abs=6e-4)
    note = read_load_set(name).note
    assert "only the text of the standard decides" in note and "scaled by body weight" in note
    assert read_load_set(name).title.startswith("Borrowed")


def test_borrowed_sets_stand_in_the_ratios_of_the_standard():
    cyclic, proof, ductile, brittle = (
        np.array([cases(name)[f"{place} condition"].fz_bw for place in ("heel", "forefoot")])
        for name in STANDARD
    )
    np.testing.assert_allclose(proof / cyclic, 1.68, atol=0.005)
    np.testing.assert_allclose(ductile / proof, 1.5, atol=0.001)
    np.testing.assert_allclose(brittle / proof, 2.0, atol=0.001)


def test_borrowed_purposes_and_cycles():
    purposes = {name: read_load_set(name).purpose for name in BORROWED}
    assert purposes == {
        "borrowed-cyclic": "cyclic", "borrowed-proof": "proof",
        "borrowed-ultimate-brittle": "ultimate", "borrowed-ultimate-ductile": "ultimate",
    }  # fmt: skip
    cyclic = read_load_set("borrowed-cyclic")
    assert cyclic.cycles == 3e6 and read_load_set("borrowed-proof").cycles is None
    for place in ("heel", "forefoot"):  # 50 N between the cycles
        least = cases("borrowed-cyclic")[f"{place} condition, least force"]
        assert least.fz_bw == pytest.approx(50 / (100 * STANDARD_GRAVITY), abs=6e-5)
        assert least.cop == cases("borrowed-cyclic")[f"{place} condition"].cop


def test_front_piece_is_pressed_from_outside(worn):
    for device, wearer, limb in worn.values():
        pushes = {p.name: push_on(p, device, wearer, limb)
                  for p in read_load_set("sitting").pushes}  # fmt: skip
        kneeling = pushes["kneeling on the front piece"]
        weight = wearer.mass_kg * STANDARD_GRAVITY
        np.testing.assert_allclose(kneeling.force, [-0.5 * weight, 0.0, 0.0])
        assert kneeling.at is None and kneeling.zones == ("front piece",)
        crest = pushes["leaning on the tibial crest"].at
        np.testing.assert_allclose(crest, device.landmarks["tibial_crest"])
        # From the lateral side the push goes toward the other leg: -y on a left limb.
        inward = pushes["pressed from the lateral side"].force[1]
        assert inward == pytest.approx((-0.1 if device.side == "left" else 0.1) * weight)


def test_postures_that_stay_are_marked_as_held_and_no_others():
    held = {name for name in shipped_names("loadcases") if read_load_set(name).held}
    assert held == {"crouch", "sitting"}
