# SPDX-License-Identifier: MIT
"""The lightest layout of sizes that exist, by a search in which nothing but a full trial counts.

Round the layout reached so far the logarithm of each share used is taken as linear in those of the
sizes: slopes from sensitivities where there are any, and corrected by every trial (rank one). The
lightest layout that this promises to hold, within a few sizes of where it stands, is the answer of
a mixed-integer linear programme; it is tried in full, and what the trial says counts. At the end
each part of the best layout is tried one size thinner.

Source: schmit-farshi-1974 (approximations between analyses), broyden-1965 (rank-one correction).
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

Array = NDArray[np.float64]
Key = tuple[str, str, str]
"""Topic, zone and horizon of a check."""

Layout = tuple[int, ...]
"""Number of the size of each part."""

REACH = 3
"""Sizes by which a part may move at a time, at first."""
PATIENCE = 8
"""Trials in vain, where nothing holds yet, after which only the thickest layout is left to try."""
_LEAST_SHARE = 1e-3  # used share below which a check steers nothing
_TOLERANCE = 1e-6  # by which a layout must be lighter, as a share of the whole
_PENALTY = 20.0  # masses of the whole that a share of e times what is allowed costs


@dataclass(frozen=True, eq=False)
class Trial:
    """One layout, tried in full.

    Attributes:
        layout: of it.
        mass: kg; NaN where it could not be made.
        shares: of what is allowed that each check uses.
        slopes: check to change (parts,) of the logarithm of its share per that of each size, where
            a sensitivity is known.
        masses: (parts,) kg of each part, as far as it grows with the size.
        failure: why it could not be judged; empty where it was.
        extra: what is left open besides what is always left open; never a pass.
    """

    layout: Layout
    mass: float = math.nan
    shares: Mapping[Key, float] = field(default_factory=dict)
    slopes: Mapping[Key, Array] = field(default_factory=dict)
    masses: Array = field(default_factory=lambda: np.empty(0))
    failure: str = ""
    extra: tuple[str, ...] = ()

    @property
    def holds(self) -> bool:
        """Whether every check is met and nothing more than usual is left open."""
        return not self.failure and not self.extra and self.worst <= 1.0

    @property
    def worst(self) -> float:
        """Highest share used; infinite where it could not be judged."""
        return max(self.shares.values(), default=math.inf) if not self.failure else math.inf

    @property
    def governing(self) -> Key | None:
        """The check that uses most."""
        return max(self.shares, key=lambda key: self.shares[key]) if self.shares else None


@dataclass(frozen=True, eq=False)
class Search:
    """What a search found.

    Attributes:
        trials: every layout that was tried, in order.
        best: the lightest that holds; None where none did.
        thinner: of the best layout, each part one size thinner: what came of it; None where the
            part is at its thinnest already.
        complete: whether each of these was tried, so that no single part can be one size thinner.
        exhausted: whether every layout there is was tried.
    """

    trials: tuple[Trial, ...]
    best: Trial | None
    thinner: tuple[Trial | None, ...]
    complete: bool
    exhausted: bool


Try = Callable[[Layout, bool], Trial]
"""Tries a layout; whether slopes are wanted."""


def search(sizes: Sequence[Sequence[float]], attempt: Try, start: Layout, *, most: int) -> Search:
    """The lightest layout that holds, as far as so many trials tell.

    Args:
        sizes: of each part, from thin to thick.
        attempt: tries a layout in full.
        start: where to begin.
        most: trials.
    """
    run = _Run([np.asarray(each, dtype=float) for each in sizes], attempt, most)
    base = run.attempt(start, True)
    if base.failure:
        return run.done()
    model, reach, vain = _Model.of(base, run.sizes), REACH, 0
    while run.left and vain < PATIENCE:
        layout = model.promising(run, reach) or run.untried_thinner()
        if layout is None:
            break
        trial = run.attempt(layout, False)
        model.learn(trial, run.sizes)
        if _better(trial, base):
            base, vain, reach = run.again(layout), 0, min(REACH, reach + 1)
            model = model.moved(base, run.sizes)
        else:
            reach = max(1, reach - 1)
            vain += run.best is None
    if run.best is None and run.left:
        run.attempt(tuple(len(each) - 1 for each in sizes), False)
    return run.done()


class _Run:
    """The trials of one search."""

    def __init__(self, sizes: Sequence[Array], attempt: Try, most: int):
        self.sizes, self._try, self.most = sizes, attempt, most
        self.trials: dict[Layout, Trial] = {}

    @property
    def left(self) -> int:
        return self.most - len(self.trials)

    @property
    def best(self) -> Trial | None:
        holding = [each for each in self.trials.values() if each.holds]
        return min(holding, key=lambda each: each.mass, default=None)

    def attempt(self, layout: Layout, slopes: bool) -> Trial:
        if layout not in self.trials:
            self.trials[layout] = self._try(layout, slopes)
        return self.trials[layout]

    def again(self, layout: Layout) -> Trial:
        """The same trial with slopes; it is no other trial."""
        if not self.trials[layout].slopes:
            self.trials[layout] = self._try(layout, True)
        return self.trials[layout]

    def thinner(self) -> Iterator[Layout | None]:
        """The best layout with each part one size thinner."""
        assert self.best is not None
        for part, number in enumerate(self.best.layout):
            layout = list(self.best.layout)
            layout[part] -= 1
            yield tuple(layout) if number else None

    def untried_thinner(self) -> Layout | None:
        """One of these that was not tried, of the heaviest part first; None without a best."""
        if self.best is None:
            return None
        layouts = list(self.thinner())
        masses = self.best.masses if len(self.best.masses) else np.ones(len(layouts))
        for part in np.argsort(-masses, kind="stable"):
            layout = layouts[int(part)]
            if layout is not None and layout not in self.trials:
                return layout
        return None

    def done(self) -> Search:
        thinner: list[Trial | None] = []
        complete = self.best is not None
        if self.best is not None:
            wanted = list(self.thinner())
            complete = all(layout is None or layout in self.trials for layout in wanted)
            thinner = [None if each is None else self.trials.get(each) for each in wanted]
        count = math.prod(len(each) for each in self.sizes)
        return Search(tuple(self.trials.values()), self.best, tuple(thinner), complete,
                      len(self.trials) == count)  # fmt: skip


def _better(trial: Trial, base: Trial) -> bool:
    if trial.failure:
        return False
    if trial.holds and base.holds:
        return trial.mass < base.mass
    if trial.holds or base.holds:
        return trial.holds
    return trial.worst < base.worst


class _Model:
    """Shares and masses near a trial."""

    def __init__(self, base: Trial, sizes: Sequence[Array], slopes: dict[Key, Array]):
        self.base, self.slopes = base, slopes
        self.at = _logs(base.layout, sizes)

    @classmethod
    def of(cls, base: Trial, sizes: Sequence[Array]) -> "_Model":
        none = np.zeros(len(sizes))
        return cls(base, sizes, {key: np.array(base.slopes.get(key, none)) for key in base.shares})

    def learn(self, trial: Trial, sizes: Sequence[Array]) -> None:
        """Let the slopes say what the trial says."""
        step = _logs(trial.layout, sizes) - self.at
        size = float(step @ step)
        if trial.failure or not size > 0.0:
            return
        for key, slope in self.slopes.items():
            one, other = self.base.shares[key], trial.shares.get(key, 0.0)
            if min(one, other) > _LEAST_SHARE:
                miss = math.log(other / one) - float(slope @ step)
                self.slopes[key] = slope + miss * step / size

    def moved(self, base: Trial, sizes: Sequence[Array]) -> "_Model":
        """The model round another trial, which remembers this one."""
        none = np.zeros(len(sizes))
        known = {
            key: np.array(base.slopes.get(key, self.slopes.get(key, none))) for key in base.shares
        }
        model = _Model(base, sizes, known)
        model.learn(self.base, sizes)
        return model

    def promising(self, run: _Run, reach: int) -> Layout | None:
        """The lightest layout within reach that promises to hold, or to come nearest to it.

        None where there is none that is lighter than the best so far.
        """
        sizes, best = run.sizes, run.best
        near = [
            range(max(0, number - reach), min(len(each), number + reach + 1))
            for number, each in zip(self.base.layout, sizes, strict=True)
        ]
        owner = np.concatenate([np.full(len(each), part) for part, each in enumerate(near)])
        number = np.concatenate([np.asarray(each) for each in near])
        size = np.array([sizes[p][n] for p, n in zip(owner, number, strict=True)])
        grown = np.log(size) - self.at[owner]
        masses = self.base.masses if len(self.base.masses) else np.ones(len(sizes))
        total = max(float(masses.sum()), 1e-12)
        mass = masses[owner] * np.expm1(grown) / total  # as shares: a solver wants numbers near 1
        one_each = np.array([np.append(owner == part, False) for part in range(len(sizes))]) * 1.0
        rules = [LinearConstraint(one_each, 1.0, 1.0), *self._limits(owner, grown)]
        tried = np.array([
            np.append(np.asarray(layout)[owner] == number, False) for layout in run.trials
        ])  # fmt: skip
        rules.append(LinearConstraint(tried * 1.0, -np.inf, len(sizes) - 1.0))
        if best is not None:
            lighter = (best.mass - self.base.mass) / total - _TOLERANCE
            rules.append(LinearConstraint(np.append(mass, 0.0)[None], -np.inf, lighter))
        excess = np.inf if best is None else 0.0  # no trading with what does not hold
        bounds = Bounds(0.0, np.append(np.ones(len(owner)), excess))
        whole = np.append(np.ones(len(owner)), 0)
        found = milp(np.append(mass, _PENALTY), constraints=rules, integrality=whole, bounds=bounds)
        if found.x is None:
            return None
        chosen = found.x[:-1] > 0.5
        return tuple(int(n) for n in number[chosen][np.argsort(owner[chosen])])

    def _limits(self, owner: NDArray[np.int64], grown: Array) -> list[LinearConstraint]:
        """Each share at most 1, or above it by the excess, which is the last unknown."""
        steering = {key: used for key, used in self.base.shares.items() if used > _LEAST_SHARE}
        if not steering:
            return []
        rows = np.array([np.append(self.slopes[key][owner] * grown, -1.0) for key in steering])
        return [LinearConstraint(rows, -np.inf, -np.log(list(steering.values())))]


def _logs(layout: Layout, sizes: Sequence[Array]) -> Array:
    return np.log([each[number] for number, each in zip(layout, sizes, strict=True)])
