# SPDX-License-Identifier: MIT
"""Gates: what is loose is refused by name, and what is only thin, long or folded is not.

Measured softest values (limit 1e-14): mechanisms 1e-18 to 2e-16; the thinnest legitimate shells
here 1e-12 and above.
"""

import numpy as np
import pytest
from small_models import ALL, STEEL, chain, flat, grid, random_rotation, solve_one, turned

import fea
import fea.errors
from fea.solver import gates

WALL = fea.ShellSection(fea.Isotropic(youngs_modulus=1400.0, poisson_ratio=0.42), thickness=3.0)
BAR = fea.StrutSection.rectangle(STEEL, width=5.0, depth=5.0, up=(0, 0.3, 1))


def refused(message, mesh, sections, supports, error=fea.errors.UnsupportedError, **more):
    with pytest.raises(error, match=message):
        solve_one(mesh, sections, supports, more.pop("loads", []), **more)


def test_no_support_at_all():
    refused(
        "the part made of zone 'skin' is not held: nothing resists shift in x, shift in y, "
        "shift in z, turn about x, turn about y, turn about z; add a support, tie or bed",
        grid(3, 3, flat(10, 10)), {"skin": WALL}, [],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("supports", "free"),
    [
        ([("u0", "ux uy uz")], "turn about y"),
        ([("u0v0", "ux uy uz")], "turn about x, turn about y, turn about z"),
        ([("border", "ux uy")], "shift in z, turn about x, turn about y"),
        ([("border", "uz")], "shift in x, shift in y, turn about z"),
    ],
)
def test_what_is_free_is_named(supports, free):
    held = [fea.Support(place, dofs) for place, dofs in supports]
    refused(f"nothing resists {free}; add", grid(3, 3, flat(10, 10)), {"skin": WALL}, held)


def test_a_loose_strut_beside_a_held_plate():
    base = grid(3, 3, flat(10, 10))
    n = len(base.points)
    mesh = fea.Mesh(
        np.concatenate([base.points, [[0, 0, 5], [9, 0, 5.0]]]),
        {"triangle": base.cells["triangle"], "line": [[n, n + 1]]},
        places=base.places,
        zones={**base.zones, "upright": ("line", [0])},
    )
    refused(
        "the part made of zone 'upright' is not held",
        mesh, {"skin": WALL, "upright": BAR}, [fea.Support("u0", ALL)],
    )  # fmt: skip


def test_parts_joined_by_a_tie_are_one_part():
    mesh = chain([[0, 0, 0], [10, 0, 0], [10, 0, 1], [30, 0, 1.0]])
    mesh = fea.Mesh(
        mesh.points,
        {"line": [[0, 1], [2, 3]]},
        places={"root": [0], "a": [1], "b": [2], "tip": [3]},
        zones={"bar": ("line", [0, 1])},
    )
    held = [fea.Support("root", ALL)]
    refused("zone 'bar' is not held", mesh, {"bar": BAR}, held)
    solve_one(mesh, {"bar": BAR}, held, [], ties=[fea.Tie("b", "a")])


def test_a_frictionless_bed_alone_lets_a_flat_plate_slide():
    bed = [fea.Bed("skin", None, 1.0)]
    mesh = grid(3, 3, flat(10, 10))
    refused("nothing resists shift in x, shift in y, turn about z", mesh, {"skin": WALL}, [],
            beds=bed)  # fmt: skip
    solve_one(mesh, {"skin": WALL}, [fea.Support("u0v0", "ux uy rz")], [], beds=bed)
    solve_one(mesh, {"skin": WALL}, [], [], beds=[fea.Bed("skin", None, 1.0, 0.1)])


@pytest.mark.parametrize("rotation", [np.eye(3), random_rotation()], ids=["flat", "turned"])
def test_a_plate_that_slides_on_a_held_body_is_a_mechanism(rotation):
    mesh = turned(grid(6, 6, flat(60, 60)), rotation)
    refused(
        "a mechanism remains: .* moves without strain",
        mesh, {"skin": WALL}, [fea.Support("floor", ALL)],
        beds=[fea.Bed("skin", "floor", 1.0)], bodies=[fea.Body("floor", (0, 0, 0))],
    )  # fmt: skip


def test_a_strut_that_spins_between_two_pins_is_named():
    mesh = chain([[0, 0, 0], [50, 20, 10], [100, 40, 20.0]])
    pins = [fea.Support("root", "ux uy uz"), fea.Support("tip", "ux uy uz")]
    refused("nothing resists turn about", mesh, {"bar": BAR}, pins)


def test_an_unheld_body_is_named():
    refused(
        "the part made of body 'shank' is not held",
        grid(3, 3, flat(10, 10)), {"skin": WALL}, [fea.Support("u0", ALL)],
        bodies=[fea.Body("shank", (0, 0, 0))],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("load", "message"),
    [
        (fea.PointForce("u1", (1, np.nan, 0)), "case 'case': PointForce has force"),
        (fea.PointForce("u1", (1, 0, 0), (np.inf, 0, 0)), "case 'case': PointForce has moment"),
        (fea.Pressure("skin", np.nan), "case 'case': Pressure has value nan"),
        (fea.SurfaceForce("skin", (0, 0, np.inf)), "case 'case': SurfaceForce has traction"),
        (fea.EdgeForce("u1", (np.nan, 0, 0)), "case 'case': EdgeForce has per_length"),
        (fea.PatchForce(("skin",), (0, 0, 1), (np.nan, 0, 0), 3.0), "PatchForce has at"),
    ],
)
def test_a_load_that_is_not_finite(load, message):
    refused(
        message, grid(3, 3, flat(10, 10)), {"skin": WALL}, [fea.Support("u0", ALL)],
        error=fea.errors.ModelError, loads=[load],
    )  # fmt: skip


def hemisphere(u, v):
    ring = 10 * np.cos(1.2566 * v)
    return ring * np.cos(np.pi / 2 * u), ring * np.sin(np.pi / 2 * u), 10 * np.sin(1.2566 * v)


def strip(u, v):
    return 12 * u, 1.1 * (v - 0.5) * np.sin(1.57 * u), 1.1 * (v - 0.5) * np.cos(1.57 * u)


def hypar(u, v):
    return u - 0.5, v - 0.5, (u - 0.5) ** 2 - (v - 0.5) ** 2


def fold(u, v):
    return np.minimum(100 * u, 50), 100 * v, np.maximum(100 * u - 50, 0)


SYMMETRY = [
    fea.Support("u0", "uy rx rz"),
    fea.Support("u1", "ux ry rz"),
    fea.Support("u0v0", "uz"),
]
HARD = {
    "hemisphere t/R = 1/250": (hemisphere, 16, 16, 0.04, SYMMETRY),
    "hemisphere t/R = 1/2500": (hemisphere, 32, 32, 0.004, SYMMETRY),
    "hypar t/L = 1/1000": (hypar, 32, 32, 1e-3, None),
    "hypar t/L = 1/10000": (hypar, 32, 32, 1e-4, None),
    "fold of 90 degrees": (fold, 16, 16, 3.0, None),
    "thin fold": (fold, 32, 32, 0.04, None),
    "thin twisted strip": (strip, 96, 16, 0.0032, None),
    "very thin twisted strip": (strip, 48, 8, 0.00032, None),
    "long flat strip": (flat(1000.0, 20.0), 60, 2, 0.2, None),
}


@pytest.mark.parametrize("name", HARD)
def test_thin_long_and_folded_pass_all_gates(name):
    surface, nx, ny, wall, supports = HARD[name]
    solution = solve_one(
        grid(nx, ny, surface),
        {"skin": fea.ShellSection(STEEL, thickness=wall)},
        supports or [fea.Support("u0", ALL)],
        [fea.PointForce("u1v1", (1e-3, 2e-3, 3e-3)), fea.Pressure("skin", 1e-3)],
    )
    assert all(gate.passed for gate in solution.gates)
    softest = solution.gates[0]
    assert softest.at_least and softest.value >= 50 * softest.limit


def test_limits_are_as_stated():
    """Changing one of these is a decision about safety, not a repair of a test."""
    assert gates.BACKWARD_ERROR == 1e-12
    assert gates.BALANCE == 1e-6
    assert gates.SOFTEST == 1e-14


def test_gates_raise_with_the_case():
    with pytest.raises(fea.errors.GateError, match="case 'step': backward error 1e-11 exceeds"):
        gates.require_backward_error("step", 1e-11, 1.0)
    with pytest.raises(fea.errors.GateError, match="case 'step': imbalance of loads and reactions"):
        gates.require_balance("step", 2e-6)
    with pytest.raises(fea.errors.GateError, match="case 'step': the displacements are not finite"):
        gates.require_finite("step", np.array([1.0, np.nan]), np.array([True, True]))
    gates.require_finite("step", np.array([1.0, np.nan]), np.array([True, False]))


@pytest.mark.parametrize("at_least", [False, True])
def test_nan_never_passes(at_least):
    assert not gates.Gate("any", np.nan, 1.0, at_least).passed


def test_balance_sees_a_missing_force_and_a_missing_couple():
    points = np.array([[0.0, 0, 0], [10, 0, 0]])
    load, reaction = np.zeros((2, 6)), np.zeros((2, 6))
    load[1, 2], reaction[0, 2], reaction[0, 4] = 5.0, -5.0, 50.0
    none = np.zeros((2, 6))
    assert gates.balance_error(points, load, reaction, none) == pytest.approx(0.0, abs=1e-15)
    reaction[0, 4] = 49.0
    assert gates.balance_error(points, load, reaction, none) == pytest.approx(1 / 149.0)
    reaction[0, 2] = -4.0
    assert gates.balance_error(points, load, reaction, none) > 0.05
    reaction[0, 2] = np.nan
    assert not gates.balance_error(points, load, reaction, none) <= 1.0


def test_gate_table_keeps_the_worst():
    one = (gates.Gate("a", 3.0, 5.0), gates.Gate("b", 3.0, 1.0, True))
    two = (gates.Gate("a", 4.0, 5.0), gates.Gate("b", 2.0, 1.0, True))
    assert gates.gate_table({"x": one, "y": two}) == {"a": (4.0, 5.0), "b": (2.0, 1.0)}
