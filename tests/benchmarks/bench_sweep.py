# SPDX-License-Identifier: MIT
"""Designs per minute: structures used again, beside each design built from nothing.

    python tests/benchmarks/bench_sweep.py [SIZE_MM [DESIGNS]]

A wall, the plate, a modulus or the loads change a little from design to design. The plate lifts the
device, so that only mesh and contact serve again; loads leave every structure as it is.

One process, designs of both ways by turns, seconds of the processor, the first round thrown away.
The rows of both ways are compared: they differ by rounding.
"""

import math
import sys
import time
from statistics import median

import fea
from fea.device.mouldedshell import forget_meshes
from fea.study.parameter import Design
from fea.study.sweepplan import How
from fea.study.sweepwork import Task, forget, judge_design
from fea.tables import text_table

DEVICE, WEARER, LOADS = "ribbed-polypropylene-child", "demo-child", "walking-envelope"
VARIED = {
    "wall": lambda k: {"device.walls.ankle.sheet_mm": round(6.0 + 0.2 * k, 3)},
    "plate": lambda k: {"device.walls.foot_plate.sheet_mm": round(12.0 - 0.2 * k, 3)},
    "material": lambda k: {
        "material.polypropylene-homopolymer.youngs_modulus_mpa": {"times": round(1.0 + 0.02 * k, 3)}
    },
    "loads": lambda k: {"loads.fz_bw": {"times": round(1.0 - 0.01 * k, 3)}},
}


def seconds(task: Task) -> tuple[dict[str, object], float]:
    """The row of a design and the seconds of the processor that it took."""
    start = time.process_time()
    row = judge_design(task)
    if row["state"] != "judged":
        raise SystemExit(f"design {task.number} failed: {row['reason']}")
    return row, time.process_time() - start


def difference(one: dict[str, object], other: dict[str, object]) -> float:
    """Largest relative difference of the numbers of two rows; infinite where words differ."""
    worst = 0.0
    for name in one.keys() | other.keys() - {"seconds"}:
        a, b = one.get(name), other.get(name)
        if name == "seconds" or a == b:
            continue
        if not (isinstance(a, float) and isinstance(b, float)):
            return math.inf
        worst = max(worst, abs(a - b) / max(abs(a), abs(b)))
    return worst


def both_ways(vary: str, base: Design, how: How, count: int) -> tuple[str, ...]:
    """The row of one variation: seconds and designs a minute of both ways, and the difference."""
    again, fresh, apart = [], [], 0.0
    for number in range(count + 1):
        values = VARIED[vary](number)
        first, one = seconds(Task(number, base, values, vars(how)))
        forget_meshes()  # what the other way must not find
        second, two = seconds(Task(number, base, values, vars(how), reuse=False))
        apart = max(apart, difference(first, second))
        if number:
            again.append(one)
            fresh.append(two)
    forget()
    one, two = median(again), median(fresh)
    return (vary, f"{two:.2f}", f"{one:.2f}", f"{60.0 / two:.2f}", f"{60.0 / one:.2f}",
            f"{two / one:.2f}", f"{apart:.1e}")  # fmt: skip


def main(size: str = "14", designs: str = "3") -> None:
    """Print the table."""
    base = Design(fea.read_device(DEVICE), fea.read_wearer(WEARER), fea.read_load_set(LOADS))
    how = How(size=float(size))
    head = ("varied", "s, from nothing", "s, used again", "a minute, from nothing",
            "a minute, used again", "ratio", "largest difference")  # fmt: skip
    print(f"{DEVICE} for {WEARER}, {LOADS}, cells of {size} mm, {designs} designs each")
    print(text_table(head, [both_ways(vary, base, how, int(designs)) for vary in VARIED]))


if __name__ == "__main__":
    main(*sys.argv[1:])
