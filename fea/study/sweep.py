# SPDX-License-Identifier: MIT
"""Many designs judged alike: one row each, kept as soon as it is there, gone on with after a stop.

Designs of one shape are judged one after the other, so that a worker can use the structures of the
last one again (`assess`, ``start``).
"""

import math
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from fea.check.wording import percent_text
from fea.study.sweepfile import read_plan
from fea.study.sweepplan import Plan, column_of
from fea.study.sweeprow import FAILED, JUDGED, Cell, Row, columns_of
from fea.study.sweepstore import (
    CSV,
    PARQUET,
    Journal,
    frame_of,
    require_tables,
    write_csv,
    write_parquet,
)
from fea.study.sweepwork import (
    Task,
    forget,
    judged,
    processors,
    require_workers,
    workers_on,
)

REASONS = 5
"""Reasons of failures that the summary tells."""
MASS, RESERVE = "mass_g", "governing_reserve"


@dataclass(frozen=True, eq=False)
class Sweep:
    """The designs of a plan, judged.

    Attributes:
        plan: what was asked.
        rows: one for each design, in the order of the plan, see `fea.study.sweeprow`.
        kept: how many of them were there from an earlier run.
        seconds: that the others took.
    """

    plan: Plan
    rows: tuple[Row, ...]
    kept: int = 0
    seconds: float = 0.0

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """Names of all columns in order."""
        return tuple(columns_of(self.rows, self.varied))

    @property
    def varied(self) -> tuple[str, ...]:
        """Columns of the varied values."""
        return tuple(column_of(*item)[0] for item in self.plan.designs[0].items())

    @property
    def failed(self) -> tuple[Row, ...]:
        """Designs that could not be judged."""
        return tuple(row for row in self.rows if row["state"] == FAILED)

    @property
    def holding(self) -> tuple[Row, ...]:
        """Designs of which every check that could be made is met, the lightest first.

        What was not checked of them stays open: their column `not_checked` says how much.
        """
        held = [row for row in self.rows if (_number(row, RESERVE) or 0.0) >= 1.0]
        return tuple(sorted(held, key=lambda row: _number(row, MASS) or 0.0))

    @property
    def front(self) -> tuple[Row, ...]:
        """Designs that no other one beats in both mass and reserve, the lightest first.

        Example:
            >>> rows = [{"design": 1, MASS: 400, RESERVE: 0.9}, {"design": 2, MASS: 500,
            ...          RESERVE: 0.8}, {"design": 3, MASS: 600, RESERVE: 1.4}]
            >>> [row["design"] for row in Sweep(None, tuple(rows)).front]
            [1, 3]
        """
        pairs = [(_number(row, MASS), _number(row, RESERVE)) for row in self.rows]
        known = [(m, r, k) for k, (m, r) in enumerate(pairs) if m is not None and r is not None]
        best, found = -math.inf, []
        for _, reserve, k in sorted(known, key=lambda each: (each[0], -each[1])):
            if reserve > best:
                best = reserve
                found.append(self.rows[k])
        return tuple(found)

    @property
    def per_minute(self) -> float:
        """Designs a minute in this run; 0 where none was judged."""
        return 60.0 * (len(self.rows) - self.kept) / self.seconds if self.seconds > 0.0 else 0.0

    def frame(self) -> object:
        """The rows as a pandas data frame.

        Raises:
            MissingExtraError: pandas is not installed; the extra is `tables`.
        """
        return frame_of(self.columns, self.rows)

    def __str__(self) -> str:
        verdicts = [str(row["verdict"]) for row in self.rows if row["state"] == JUDGED]
        counts = {word: verdicts.count(word) for word in dict.fromkeys(verdicts)}
        parts = [f"{count} {word}" for word, count in sorted(counts.items())]
        parts += [f"{len(self.failed)} not judged"] if self.failed else []
        lines = [f"{self.plan.title or 'Sweep'}: {len(self.rows)} designs; {', '.join(parts)}."]
        lines.append(self._lightest())
        reasons = Counter(str(row["reason"]) for row in self.failed).most_common()
        lines += [f"Not judged, {count} of them: {why}" for why, count in reasons[:REASONS]]
        if len(reasons) > REASONS:
            lines.append(f"and {len(reasons) - REASONS} other reasons, in the column 'reason'.")
        return "\n".join(lines)

    def _lightest(self) -> str:
        if not self.holding:
            return "There is no design of which every check that could be made is met."
        best = self.holding[0]
        values = ", ".join(f"{name} = {best.get(name)}" for name in self.varied) or "as given"
        share = percent_text(1.0 / (_number(best, RESERVE) or 1.0))
        open_things = int(_number(best, "not_checked") or 0)
        return (
            f"Lightest of {len(self.holding)} of which every check that could be made is met: "
            f"design {best['design']} ({values}), {_number(best, MASS):.0f} g, the hardest check "
            f"at {share} of what is allowed ({best['governing_topic']} of the "
            f"{best['governing_zone']}); {open_things} things were not checked, so this is no "
            "proof that it holds."
        )


def sweep(
    plan: str | Path | Plan,
    out: str | Path | None = None,
    *,
    workers: int | None = None,
    address: str | None = None,
    executor: Executor | None = None,
    parquet: bool = False,
    reuse: bool = True,
    progress: Callable[[str], None] = lambda message: None,
) -> Sweep:
    """Judge every design of a plan.

    Args:
        plan: a file (`fea.study.sweepfile`), or a plan made in Python (`fea.study.sweepplan`).
        out: folder for the journal `sweep.jsonl` and the table `sweep.csv`; a sweep that was
            stopped goes on from there. None keeps nothing.
        workers: processes on this machine, each of which starts Python anew, so that a script
            needs its ``if __name__ == "__main__":``. None takes one a processor; 1 works here.
        address: of a Dask scheduler whose workers have this program, and reach the files that the
            plan names; needs the extra `many`.
        executor: any standard executor in place of these two; ``workers`` says how wide it is.
        parquet: whether to write `sweep.parquet` too; needs the extra `tables`.
        reuse: whether designs of one shape share structures. The rows are the same to rounding.
        progress: called with a few words after each design, the time that is left among them.

    Returns:
        One row a design. A design that cannot be judged is a row with its reason.

    Raises:
        InputError: the plan cannot be used, or the folder holds another plan's designs.
        SolveError: the workers themselves failed; finished designs are kept.
        MissingExtraError: an extra is needed and not installed.

    Example:
        >>> import fea
        >>> from fea.study.parameter import Design
        >>> from fea.study.sweepplan import How, Plan, grid
        >>> base = Design(fea.read_device("ribbed-polypropylene-child"),
        ...               fea.read_wearer("demo-child"), fea.read_load_set("sitting"))
        >>> plan = Plan(base, grid({"device.walls.ankle.sheet_mm": [6.0, 40.0]}),
        ...             How(size=16.0, fall=None, step=None))
        >>> [(row["design"], row["state"]) for row in fea.sweep(plan, workers=1).rows]
        [(1, 'judged'), (2, 'failed')]
    """
    require_workers(address, workers)
    if parquet:
        require_tables()
    plan = plan if isinstance(plan, Plan) else read_plan(plan)
    started = time.perf_counter()
    with ExitStack() as stack:
        if address is not None and executor is None:  # no folder where nobody answers
            executor, workers = stack.enter_context(workers_on(address, None))
        journal = None if out is None else stack.enter_context(Journal.open(out, plan))
        finished = {} if journal is None else journal.rows()
        found: dict[int, Row] = {k: _whole(plan, row) for k, row in finished.items()}
        kept = len(found)
        todo = [number for number in plan.order() if number + 1 not in found]
        pool, wide = stack.enter_context(_executor(executor, workers, len(todo)))
        for row in judged(pool, _ahead(pool, wide), _tasks(plan, todo, reuse)):
            number = int(str(row["design"]))
            found[number] = _whole(plan, row)
            if journal is not None:
                journal.append(found[number])
            progress(_progress(plan, found, kept, started))
        result = Sweep(plan, tuple(found[k] for k in sorted(found)), kept,
                       time.perf_counter() - started)
        if out is not None:
            write_csv(Path(out) / CSV, result.columns, result.rows)
            if parquet:
                write_parquet(Path(out) / PARQUET, result.columns, result.rows)
    return result


@contextmanager
def _executor(
    given: Executor | None, workers: int | None, tasks: int
) -> Iterator[tuple[Executor, int]]:
    if given is not None:
        yield given, workers or processors()
        return
    count = processors() if workers is None else workers
    try:
        with workers_on(None, max(1, min(count, tasks))) as both:
            yield both
    finally:
        forget()


def _ahead(pool: Executor, wide: int) -> int:
    """How many tasks to hand over: one more than work at a time, so that nobody waits."""
    return wide + 1 if wide > 1 else 1


def _tasks(plan: Plan, numbers: list[int], reuse: bool) -> Iterator[Task]:
    how = vars(plan.how)
    for number in numbers:
        yield Task(number + 1, plan.base, plan.designs[number], how, reuse)


def _whole(plan: Plan, row: Row) -> dict[str, Cell]:
    """A row with what was varied, which stands before what was found."""
    values = plan.designs[int(str(row["design"])) - 1]
    varied = dict(column_of(path, value) for path, value in values.items())
    return {"design": row["design"], **varied, **row}


def _progress(plan: Plan, found: dict[int, Row], kept: int, started: float) -> str:
    done, total = len(found), len(plan.designs)
    failed = sum(row["state"] == FAILED for row in found.values())
    words = f"{done} of {total} designs" + (f", {failed} not judged" if failed else "")
    left = (time.perf_counter() - started) / (done - kept) * (total - done)
    return f"{words}, about {duration_words(left)} left" if left else words


def duration_words(seconds: float) -> str:
    """A time in words, rounded up.

    Example:
        >>> duration_words(40), duration_words(400), duration_words(9000)
        ('40 s', '7 min', '2 h 30 min')
    """
    if seconds < 90.0:
        return f"{max(1, round(seconds))} s"
    minutes = int(-(-seconds // 60))
    return f"{minutes} min" if minutes < 90 else f"{minutes // 60} h {minutes % 60} min"


def _number(row: Row, column: str) -> float | None:
    value = row.get(column)
    return float(value) if isinstance(value, (int, float)) else None
