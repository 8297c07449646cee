# SPDX-License-Identifier: MIT
"""Devices on a bench, dorsiflexed by one moment, for tests that need no whole curve."""

from dataclasses import replace

import numpy as np

import fea
from fea.limb import Limb
from fea.study.bench import on_rig
from fea.study.benchcurve import N_M_PER_DEG
from fea.study.rig import rig_of

CHILD = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
SHEETS = ("foot_plate", "foot_walls", "heel", "ankle", "uprights", "posterior_shell", "front_piece")
CALF = rig_of("clamped-calf")
FOREFOOT = replace(CALF, name="clamped-calf, heel free", held_from=0.5)
# The shipped wrapped device without its ribs, of one plain sheet; measures of its own, so that the
# bench stands still when the shipped device is improved.
SOLID = {
    "ribs": (),
    "gap_mm": 6.0,
    "upright_width_mm": 42.0,
    "foot.plate_length_share": 1.0,
    "foot.toe_rise_mm": 6.0,
    "foot.toe_round_mm": 30.0,
    "foot.wall_height_share": 0.62,
    "foot.wall_end_share": 0.72,
    "foot.sole_radius_mm": 12.0,
    "foot.heel_radius_mm": 24.0,
    "ankle.set_deg": -3.0,
    "ankle.anterior_trim_mm": 20.0,
    "ankle.trim_radius_mm": 24.0,
    "ankle.malleolus_clearance_mm": 4.0,
    "opening.start_share": 0.40,
    "opening.radius_mm": 20.0,
    "front_piece.lower_share": 0.62,
    "front_piece.upper_share": 0.96,
    "front_piece.wrap_share": 0.60,
    "front_piece.lower_radius_mm": 25.0,
    "front_piece.corner_radius_mm": 20.0,
}


def solid_recipe(sheet_mm=6.0, **changes):
    """A wrapped device without ribs; changes by key with "__" for the dot."""
    walls = {f"walls.{wall}.sheet_mm": sheet_mm for wall in SHEETS}
    changes = {key.replace("__", "."): value for key, value in changes.items()}
    recipe = fea.read_device("ribbed-polypropylene-child")
    return recipe.changed({**SOLID, **walls, **changes})


def solid_device(size, sheet_mm=6.0, **changes):
    """The same on the child of the demonstration."""
    return solid_recipe(sheet_mm, **changes).fit(Limb.of(CHILD), size)


def dorsiflexed(device, rig, moment=30e3):
    """The solution under a dorsiflexing moment, N·mm, on the dummy."""
    load = fea.PointForce("shank", (0, 0, 0), moment=(0, moment, 0))
    return fea.solve(on_rig(device, rig, 4).with_cases({"bench": [load]}))["bench"]


def stiffness(device, rig, moment=30e3):
    """N·m/deg under that moment."""
    return moment / dorsiflexed(device, rig, moment).body("shank")[4] / N_M_PER_DEG


def turn_deg(solution):
    """Dorsiflexion of the dummy."""
    return float(np.degrees(solution.body("shank")[4]))
