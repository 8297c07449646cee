# SPDX-License-Identifier: MIT
"""Plans and quick rows that the tests of sweeps share."""

from dataclasses import replace

import fea
from fea.study.parameter import Design
from fea.study.sweepplan import How, Plan, grid

ANKLE = "device.walls.ankle.sheet_mm"
MODULUS = "material.polypropylene-homopolymer.youngs_modulus_mpa"
QUICK = How(size=20.0, fall=None, step=None)
WALK = fea.read_load_set("walking-envelope")
BASE = Design(
    fea.read_device("ribbed-polypropylene-child"),
    fea.read_wearer("demo-child"),
    replace(WALK, instants=WALK.instants[:1]),
)


def plan_of(how=QUICK, base=BASE, **vary):
    """Every combination of values."""
    return Plan(base, grid(vary), how, "Test")


THREE = plan_of(**{ANKLE: [6.0, 20.0, 7.0]})  # 20 mm would cut into the limb


def counting(calls):
    """In place of solving: designs are counted, and the second one fails."""

    def quick(task):
        calls.append(task.number)
        if task.number == 2:
            return {"design": 2, "state": "failed", "reason": "no", "seconds": 0.0}
        return {"design": task.number, "state": "judged", "verdict": "not met", "mass_g": 400.0,
                "governing_reserve": 0.5, "utilisation yield": 2.0, "seconds": 0.0}  # fmt: skip

    return quick
