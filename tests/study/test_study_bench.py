# SPDX-License-Identifier: MIT
"""The bench: closed forms by hand, flags and ends of curves, sides, rigs."""

from dataclasses import dataclass, replace

import numpy as np
import pytest

import fea
from fea.device.device import Bar, Device, Fastening, Sole, Wall
from fea.errors import DeviceError, InputError
from fea.limb import Limb
from fea.material.library import read_library
from fea.study.bench import bench
from fea.study.benchcurve import LEVELS, N_M_PER_DEG
from fea.study.rig import DIRECTIONS, nearest_rig, rig_of, rigs

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
RIGHT = fea.Wearer(mass_kg=35, height_mm=1410, side="right")
LOOSE = rig_of("dummy-shank")
GRIPPED = replace(LOOSE, name="gripped", contact="clamped", straps=False, pad=1e4)
STEEL = replace(
    read_library()["aluminium-7075-t6"],
    elastic=fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.25, density=7.8e-6),
)
LONG, WIDE, DEEP = 200.0, 12.0, 4.0  # mm, the strut; WIDE lies fore and aft


@dataclass(frozen=True)
class Given:
    """A device that is not fitted."""

    device: Device

    def fit(self, limb, size=None):
        return self.device


def block(centre, half, normal):
    """Corners of a square of four triangles round a middle node, normal along x or z."""
    u, v = (np.eye(3)[k] for k in range(3) if k != normal)
    centre = np.asarray(centre, dtype=float)
    corners = [centre + half * (a * u + b * v) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    return np.array([centre, *corners])


def device(parts, *, bars=None, lines=None, ankle=(0.0, 0.0, 100.0), fastenings=(), straps=(),
           places=None, side="left"):  # fmt: skip
    """A device of square plates as thick as stones; zone names to points (5, 3)."""
    cells = np.array([[0, 1, 2], [0, 2, 3], [0, 3, 4], [0, 4, 1]])
    points, triangles, zones = [], [], {}
    for number, (name, corners) in enumerate(parts.items()):
        points.append(corners)
        triangles.append(cells + 5 * number)
        zones[name] = ("triangle", np.arange(4) + 4 * number)
    tables = {"triangle": np.concatenate(triangles)}
    first = 5 * len(parts)
    for name, ends in (lines or {}).items():
        points.append(np.asarray(ends, dtype=float))
        tables["line"] = np.array([[first, first + 1]])
        zones[name] = ("line", [0])
    mesh = fea.Mesh(np.concatenate(points), tables, places=places or {}, zones=zones)
    stone = replace(STEEL, elastic=fea.Isotropic(youngs_modulus=2e8, poisson_ratio=0.25))
    marks = {"ankle_axis": ankle, "heel": (-20.0, 0.0, 0.0), "plate_end": (20.0, 0.0, 0.0)}
    return Device(
        name="blocks", title="blocks", side=side, mesh=mesh,
        walls={name: Wall(stone, 40.0) for name in parts}, bars=bars or {},
        plate_zones=("plate",), foot_zones=("plate",),
        shank_zones=tuple(name for name in parts if name != "plate"),
        landmarks={name: np.array(at) for name, at in marks.items()},
        sole=Sole(0.0, 0.0, 0.0), origin="made for a test", fastenings=fastenings, straps=straps,
    )  # fmt: skip


@pytest.fixture(scope="module")
def on_a_strut():
    """A strut from the clamped plate up to a block that the dummy grips; the axis at mid-length."""
    strut = Bar(STEEL, WIDE, DEEP, up=(1.0, 0.0, 0.0))
    ends = [[0.0, 0.0, 0.0], [0.0, 0.0, LONG]]
    held = device(
        {"plate": block((0, 0, 0), 20, 2), "block": block((0, 0, LONG), 20, 2)},
        bars={"strut": strut}, lines={"strut": ends}, ankle=(0.0, 0.0, LONG / 2),
        places={"foot end": [10], "top end": [11], "plate middle": [0, 1, 2, 3, 4],
                "block middle": [5, 6, 7, 8, 9]},
        fastenings=(Fastening("foot", "foot end", "plate middle", 5.0),
                    Fastening("top", "top end", "block middle", 5.0)),
    )  # fmt: skip
    return bench(Given(held), CHILD, rig=GRIPPED, large_from_deg=None)


@pytest.mark.parametrize(
    ("direction", "by_hand"),
    [
        # With the axis at mid-length the ends turn without shear force: K = E I / L.
        ("dorsiflexion", 200e3 * DEEP * WIDE**3 / 12.0 / LONG),
        ("plantarflexion", 200e3 * DEEP * WIDE**3 / 12.0 / LONG),
        ("inversion", 200e3 * WIDE * DEEP**3 / 12.0 / LONG),
        ("eversion", 200e3 * WIDE * DEEP**3 / 12.0 / LONG),
    ],
)
def test_a_strut_between_clamp_and_dummy_by_hand(on_a_strut, direction, by_hand):
    assert on_a_strut.stiffness(direction) == pytest.approx(by_hand, rel=0.005)


def test_a_strut_twists_by_hand(on_a_strut):
    """K = G J / L, J = w d³ (1/3 - 0.21 d/w (1 - d⁴/12w⁴)) (Roark, rectangle)."""
    ratio = DEEP / WIDE
    j = WIDE * DEEP**3 * (1.0 / 3.0 - 0.21 * ratio * (1.0 - ratio**4 / 12.0))
    for direction in ("torsion inward", "torsion outward"):
        assert on_a_strut.stiffness(direction) == pytest.approx(80e3 * j / LONG, rel=0.005)


def test_a_soft_pad_ahead_is_a_linear_spring_and_pushes_one_way_only():
    """A clamped block, its pad 100 to 120 mm above the axis: K = ∫ k z² dA; and in plantarflexion
    nothing holds the dummy, which is said."""
    ahead = block((30.0, 0.0, 210.0), 10.0, 0)
    joined = device({"plate": block((0, 0, 0), 20, 2), "front": ahead})
    rig = replace(LOOSE, pad=0.01, moments=dict.fromkeys(DIRECTIONS, 100.0))
    fixed = replace(joined, plate_zones=("plate", "front"))  # the clamp holds the block itself
    result = bench(Given(fixed), CHILD, rig=rig, large_from_deg=None)
    by_hand = 0.01 * (400.0 * 110.0**2 + 20.0 * 20.0**3 / 12.0)
    assert result.stiffness("dorsiflexion") == pytest.approx(by_hand, rel=0.02)
    assert result.stiffness("plantarflexion") is None
    assert "not judged" in result.curves["plantarflexion"].because
    assert not result.fully_judged


@pytest.fixture(scope="module")
def bare():
    """The bare example on the clamped calf: 3.08 of 5 N·m turn it by 8° in torsion."""
    recipe = fea.read_device("bare-two-upright-polypropylene-child")
    return bench(recipe, CHILD, rig="clamped-calf", size=16.0, large_from_deg=None)


def test_a_curve_ends_at_eight_degrees_and_says_so(bare):
    curve = bare.curves["torsion inward"]
    assert np.degrees(curve.angle[-1]) == pytest.approx(8.0, rel=1e-6)
    assert curve.moment[-1] < curve.wanted
    assert "not judged beyond" in curve.because
    assert not bare.fully_judged
    assert curve.because in str(bare)


def test_more_than_five_degrees_is_flagged(bare):
    curve = bare.curves["dorsiflexion"]
    assert curve.flagged.tolist() == (np.degrees(curve.angle) > 5.0).tolist()
    assert curve.flagged.any()
    assert not curve.flagged.all()
    assert "flagged: more than 5°" in curve.remark
    assert curve.because == ""


def test_the_range_is_moment_over_angle_from_end_to_end(bare):
    angle = sum(bare.curves[d].angle[-1] for d in ("dorsiflexion", "plantarflexion"))
    assert bare.stiffness("sagittal range") == pytest.approx(50e3 / angle)


def test_a_range_that_is_not_judged_gives_no_number(bare):
    cut = replace(bare.curves["dorsiflexion"], because="not judged beyond")
    part = replace(bare, curves={**bare.curves, "dorsiflexion": cut})
    assert part.stiffness("sagittal range") is None
    assert part.beside(part.rig.published[0]) == "not judged"


def test_each_point_is_solved_through_the_gates(bare):
    points = sum(curve.moment.size for curve in bare.curves.values())
    assert points == len(DIRECTIONS) * LEVELS == len(bare.run)
    assert bare.provenance["gates"]


def test_a_pure_moment_leaves_no_force_on_clamp_and_dummy_together(bare):
    for (_, moment), solution in bare.run.items():
        clamp, dummy = (solution.reaction(place) for place in ("clamped foot plate", "shank"))
        scale = 1e3 * moment / 100.0
        assert np.abs(clamp[:3] + dummy[:3]).max() < 1e-8 * scale


def test_left_and_right_are_mirror_images():
    recipe = fea.read_device("bare-two-upright-polypropylene-child")
    left, right = (
        bench(recipe, who, rig=LOOSE, size=18.0, large_from_deg=None) for who in (CHILD, RIGHT)
    )
    for direction in DIRECTIONS:
        assert right.stiffness(direction) == pytest.approx(left.stiffness(direction), rel=1e-6)


@pytest.mark.parametrize("slack", [0.0, 2.0])
def test_only_a_slack_strap_bends_a_curve(slack):
    """Leaning backwards, the dummy hangs on the calf strap; late, it makes the curve steeper."""
    recipe = fea.read_device("ribbed-polypropylene-child")
    rig = replace(LOOSE, zones=("front piece",), strap_slack=slack)
    found = bench(recipe, CHILD, rig=rig, size=18.0, large_from_deg=None)
    bend = {name: curve.bend for name, curve in found.curves.items()}
    assert bend["dorsiflexion"] == pytest.approx(1.0, abs=1e-6)
    if slack:
        assert bend["plantarflexion"] > 1.1
    else:
        assert bend["plantarflexion"] == pytest.approx(1.0, abs=1e-6)


def test_the_rig_is_named_before_solving_by_the_material():
    limb = Limb.of(CHILD)
    plastic = fea.read_device("bare-two-upright-polypropylene-child").fit(limb, 18.0)
    assert nearest_rig(plastic).name == "clamped-calf"
    wall = replace(next(iter(plastic.walls.values())), material=STEEL)
    mixed = replace(plastic, walls={**plastic.walls, "heel": wall})
    assert nearest_rig(mixed).name == "dummy-shank"


def test_every_rig_has_moments_and_a_status():
    for name, rig in rigs().items():
        assert set(rig.moments) == set(DIRECTIONS), name
        assert rig.status in ("read", "assumed", "memory-M"), name
        assert "ssumed" in rig.about or rig.status == "assumed", name


def test_an_unknown_rig_lists_the_rigs():
    with pytest.raises(InputError, match="use one of dummy-shank"):
        rig_of("no-such-rig")


def test_a_dummy_that_touches_nothing_or_a_wrong_zone_is_refused(bare):
    with pytest.raises(InputError, match="'heel' is no zone on the shank"):
        bench(Given(bare.device), CHILD, rig=replace(LOOSE, zones=("heel",)))
    nowhere = replace(bare.device, shank_zones=())
    with pytest.raises(DeviceError, match="touches"):
        bench(Given(nowhere), CHILD, rig=replace(LOOSE, zones=()))


@pytest.mark.parametrize(
    ("value", "words"),
    [(5.0, "below: 0.6 times its lower end"), (6.0, "within"), (25.2, "within"),
     (25.4, "above: 1.3 times its upper end")],
)  # fmt: skip
def test_the_class_stands_beside_as_context_only(bare, value, words):
    """Between 8.3 and 19.3 N·m/deg, 31 % to either side: 5.73 to 25.28."""
    published = bare.rig.published[0]
    assert (published.low, published.high) == (8.3, 19.3)
    angle = 30e3 / (value * N_M_PER_DEG)
    ends = {
        each: replace(bare.curves[each], moment=np.array([30e3]), angle=np.array([angle]))
        for each in ("dorsiflexion", "plantarflexion")
    }
    assert replace(bare, curves={**bare.curves, **ends}).beside(published).startswith(words)
