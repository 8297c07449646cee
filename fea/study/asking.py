# SPDX-License-Identifier: MIT
"""Where and by what a check of an assessment was asked, found again so that it can be varied.

A check names zone, case and place, not the layer and the criterion that governed. They are found
as those by which the demand comes out as it was; where none does, the check has no response, and
nothing is guessed.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Assessment
from fea.check.bonded import layers_of
from fea.check.buckling import TOLERANCE, read_buckle
from fea.check.capacity import capacity_of
from fea.check.check import BUCKLING, Check
from fea.check.factors import Factors
from fea.check.plies import (
    FIBRE_MATRIX,
    INTERACTION,
    KNOWN,
    PLY_STRENGTHS,
    STRESS,
    outermost_plies,
)
from fea.check.purpose import factors_for
from fea.check.stability import knock_down, stiffness_left
from fea.check.stiffness import TOPIC as ROTATION
from fea.device.device import Device, Wall
from fea.device.facing import FOOT_BODY
from fea.judging import Acting, Loads
from fea.material.criteria import PlyStrength, hashin, tsai_hill, tsai_wu
from fea.material.library import LibraryMaterial
from fea.solver.buckling import Buckling, buckle_all
from fea.solver.recovery import Recovered
from fea.solver.solution import Solution
from fea.solver.system import System
from fea.structure.sections import Section, torsion_shear
from fea.study.buckled import buckling_response, knocked_down
from fea.study.response import (
    Layer,
    Reading,
    Response,
    Scalar,
    bar_response,
    motion_response,
    reading_value,
    wall_response,
)
from fea.study.thickening import Grow, Thickening, thickened
from fea.turning import warm_and_soft
from fea.worn import Worn

Array = NDArray[np.float64]
Measures = list[tuple[Layer, Scalar, Scalar]]

ALIKE = 1e-6
"""Relative difference up to which a demand that was found again is the one of the check."""

_PRECISE = 1e-10  # of a buckling factor, so that its shape is known to about 1e-5
_APART = 1e-3  # by which the next factor must be higher for a slope to exist

BAR = "bar stress"
WALL = ("yield", "break", STRESS, KNOWN, INTERACTION, FIBRE_MATRIX)
"""Topics of walls whose checks have a response."""

_CRITERIA: dict[str, tuple[Callable[[Array, PlyStrength], Array], ...]] = {
    INTERACTION: (tsai_wu, tsai_hill),
    FIBRE_MATRIX: (hashin,),
}
_COMPONENTS = ((0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0), (2, 1.0), (2, -1.0))


class NoResponseError(Exception):
    """A check that has no smooth response here; the message says why."""


@dataclass(frozen=True, eq=False)
class Asking:
    """The cases of an assessment, solved again as they are wanted.

    Attributes:
        result: the assessment.
        solver: as for `assess`.
    """

    result: Assessment
    solver: str = "auto"
    _solved: dict[tuple[str, str], Solution] = field(default_factory=dict, repr=False)
    _made: dict[tuple[str, str], tuple[Worn, Loads]] = field(default_factory=dict, repr=False)
    _thickenings: dict[tuple[int, Grow], Thickening] = field(default_factory=dict, repr=False)
    _places: dict[int, Reading] = field(default_factory=dict, repr=False)
    _modes: dict[int, Buckling] = field(default_factory=dict, repr=False)
    _softer: dict[int, Worn] = field(default_factory=dict, repr=False)

    def response(self, check: Check, grow: Grow = thickened) -> Response:
        """How a check answers to what grows in each cell.

        Raises:
            NoResponseError: it is none of those that do, or was judged on something else than a
                linear solve of one case.
        """
        device = self.result.device
        if check.horizon == "service life":
            raise NoResponseError("a life rests on many cases, not on one")
        if check.topic == ROTATION:
            return self._rotation(check)
        if check.topic == BUCKLING and check.place is not None:
            return self._buckling(check, grow)
        if check.topic == BAR and check.zone in device.bars:
            return self._bar(check, grow)
        if check.topic in WALL and check.zone in device.walls:
            return self._wall(check, grow)
        raise NoResponseError(f"how {check.topic} answers to thickness is not worked out here")

    def thickening(self, system: System, grow: Grow = thickened) -> Thickening:
        """Of a system, made once."""
        key = id(system), grow
        if key not in self._thickenings:
            self._thickenings[key] = Thickening.of(system, grow)
        return self._thickenings[key]

    def solution(self, check: Check, worn: list[Worn] | None = None) -> Solution:
        """The linear solution of the case of a check, on the model of the limb that its name says.

        Raises:
            NoResponseError: no such case.
        """
        if _case_of(check) in self._solved:
            return self._solved[_case_of(check)]
        acting = self.acting(check)
        for each in self.result.run.worn if worn is None else worn:
            names = each.instants(acting.loads.reactions, acting.loads.pushes)
            if check.case in names:
                alone = acting.loads.only(names[check.case])
                found = each.solve(alone.reactions, alone.pushes)
                for case, one in found.items():
                    self._solved[check.horizon, case] = one
                    self._made[check.horizon, case] = each, alone
                return found[check.case]
        raise NoResponseError(f"'{check.case}' is no case of one linear solve")

    def acting(self, check: Check) -> Acting:
        """The loads that a check is of."""
        result = self.result
        load_set = result.fall_set if check.horizon == "first fall" else result.load_set
        assert load_set is not None
        return Acting.on(
            load_set, wearer=result.wearer, limb=result.limb, device=result.device
        )

    def factors(self, check: Check) -> Factors:
        """Partial factors that the strength of a check was counted with."""
        result = self.result
        if check.horizon == "first fall":
            return factors_for(result.requirements.factors, "fall")
        factors = factors_for(result.requirements.factors, result.load_set.purpose)
        return factors.held() if self._stays(check) else factors

    def _stays(self, check: Check) -> bool:
        """Whether the load of a check is held."""
        if check.horizon == "first fall":
            return False
        return any(map(check.case.startswith, self.acting(check).held))

    def _wall(self, check: Check, grow: Grow) -> Response:
        solution = self.solution(check)
        recovered = solution.system.recovery([solution])
        if id(check) not in self._places:
            self._places[id(check)] = self._place(check, recovered)
        thickening = self.thickening(solution.system, grow)
        return wall_response(recovered, thickening, self._places[id(check)])

    def _place(self, check: Check, recovered: Recovered) -> Reading:
        every = list(self._readings(check, recovered))
        bare = [  # without the error, which takes most of the time
            one for one in every
            if abs(reading_value(recovered, replace(one, doubt=None)) - check.computed)
            <= ALIKE * check.demand
        ]  # fmt: skip
        best = min(
            bare or every,
            key=lambda one: abs(reading_value(recovered, one) - check.demand),
            default=None,
        )
        if best is None or not _same(reading_value(recovered, best), check):
            raise NoResponseError(
                "its demand is not that of the linear solve: it was solved with large rotations, "
                "or on other cells"
            )
        return best

    def _readings(self, check: Check, recovered: Recovered) -> Iterator[Reading]:
        """Every corner, layer and criterion that may have governed."""
        mesh, wall = self.result.device.mesh, self.result.device.walls[check.zone]
        numbers = mesh.zone(check.zone)[1]
        corners = mesh.points[mesh.zone_cells(check.zone)]
        at = np.argwhere(np.all(corners == np.asarray(check.place), axis=2))
        measures = list(self._measures(check, wall))
        for row, corner in at:
            for layer, measure, doubt in measures:
                yield Reading(int(numbers[row]), int(corner), layer, measure, doubt)

    def _measures(self, check: Check, wall: Wall) -> Iterator[tuple[Layer, Scalar, Scalar]]:
        reading = Reading(0, 0, "top")
        mises, layup = reading.measure, wall.layup
        if layup is None:
            yield from ((layer, mises, mises) for layer in ("bottom", "middle", "top"))
            return
        for material in wall.materials:
            own = layers_of(wall, material) if wall.layers else None
            outer = outermost_plies(layup, own)
            if material.kind == "laminate":
                pairs = list(_ply_measures(check.topic, material, self.factors(check)))
                yield from (((ply, face), *pair) for ply in outer for face in (0, 2)
                            for pair in pairs)  # fmt: skip
            elif check.topic in ("yield", "break"):
                yield from (((ply, face), mises, mises) for ply in outer for face in (0, 1, 2))

    def _bar(self, check: Check, grow: Grow) -> Response:
        solution, device = self.solution(check), self.result.device
        bar, numbers = device.bars[check.zone], device.mesh.zone(check.zone)[1]
        axial = solution.fibre_stress(check.zone)
        twist = solution.strut_forces(check.zone)[..., 3] * torsion_shear(bar.width, bar.depth)
        both = np.sqrt(axial**2 + 3.0 * twist[..., None] ** 2)
        row, end, fibre = np.unravel_index(int(np.argmin(abs(both - check.demand))), both.shape)
        if not _same(float(both[row, end, fibre]), check):
            raise NoResponseError("its demand is not that of the linear solve")
        thickening = self.thickening(solution.system, grow)
        return bar_response(solution, thickening, int(numbers[row]), int(end), int(fibre))

    def _buckling(self, check: Check, grow: Grow) -> Response:
        solution, device = self.solution(check), self.result.device
        if id(check) not in self._modes:
            self._modes[id(check)] = self._mode(check, solution)
        mode = self._modes[id(check)]
        thickening = self.thickening(solution.system, grow)
        response = buckling_response(solution, thickening, float(mode.factors[0]), mode.moved[0])
        if grow is not thickened or check.zone not in device.walls:
            return response
        slenderness = read_buckle(device, solution.system, mode).slenderness
        return knocked_down(response, _cell_at(device, check), slenderness)

    def _mode(self, check: Check, solution: Solution) -> Buckling:
        """The shape in which the device buckles, more exactly than a check needs it."""
        device = self.result.device
        mode = buckle_all({check.case: solution}, 2, tolerance=_PRECISE)[check.case]
        if len(mode.factors) > 1 and mode.factors[1] < (1.0 + _APART) * mode.factors[0]:
            raise NoResponseError("two shapes buckle at nearly the same factor")
        buckle = read_buckle(device, solution.system, mode)
        left = stiffness_left(device.materials, self.factors(check), self._stays(check))
        borne = float(mode.factors[0]) * knock_down(buckle.slenderness).value * left.value
        if (buckle.zone, buckle.place) != (check.zone, check.place) or (
            abs(borne - check.capacity) > 2.0 * TOLERANCE * check.capacity
        ):
            raise NoResponseError("its factor was not found again")
        return mode

    def _rotation(self, check: Check) -> Response:
        try:
            solution = self.solution(check)
        except NoResponseError:
            solution = self.solution(check, [self._soft(each) for each in self.result.run.worn])
        response = motion_response(solution, _degrees_of(solution))
        if not _same(response.value, check):
            raise NoResponseError("its demand is not that of the linear solve")
        return response

    def rotation(self, solution: Solution) -> float:
        """By how many degrees a solution turns the ankle."""
        return abs(float(_degrees_of(solution) @ solution.vector))

    def solved_with(self, check: Check, sections: Mapping[str, Section]) -> Solution:
        """The case of a check with other sections.

        Raises:
            NoResponseError: no such case.
            SolveError: it cannot be solved.
        """
        system = self.response(check).solution.system
        worn, alone = self._made[_case_of(check)]
        other = replace(worn, system=system.with_sections(sections))
        return other.solve(alone.reactions, alone.pushes)[check.case]

    def _soft(self, worn: Worn) -> Worn:
        if id(worn) not in self._softer:
            factors = factors_for(
                self.result.requirements.factors, self.result.load_set.purpose
            )
            self._softer[id(worn)] = warm_and_soft(worn, factors, self.solver)
        return self._softer[id(worn)]


def _case_of(check: Check) -> tuple[str, str]:
    return check.horizon, check.case


def _cell_at(device: Device, check: Check) -> int:
    """Number of the triangle in the middle of which a check is."""
    middles = device.mesh.points[device.mesh.zone_cells(check.zone)].mean(axis=1)
    row = int(np.argmin(np.linalg.norm(middles - np.asarray(check.place), axis=1)))
    return int(device.mesh.zone(check.zone)[1][row])


def _degrees_of(solution: Solution) -> Array:
    """The rotation of the foot as a linear function (N,) of displacement, degrees."""
    slope = np.zeros_like(solution.vector)
    index = solution.system.structure.body_index[FOOT_BODY]
    slope[solution.system.numbering.body(index)[4]] = np.degrees(1.0)
    return slope


def _same(value: float, check: Check) -> bool:
    return abs(value - check.demand) <= ALIKE * check.demand


def _component(part: int, sign: float) -> tuple[Scalar, Scalar]:
    """One component of stress in one sense, and the size of a change of it."""

    def along(stress: Array) -> Array:
        return sign * stress[..., part]

    def size(stress: Array) -> Array:
        return np.abs(stress[..., part])

    return along, size


def _ply_measures(
    topic: str, material: LibraryMaterial, factors: Factors
) -> Iterator[tuple[Scalar, Scalar]]:
    """What a topic may ask of the stress of a ply, and of a change of it."""
    if topic in (STRESS, KNOWN):
        yield from (_component(part, sign) for part, sign in _COMPONENTS)
    capacities = [capacity_of(material, name, factors) for name in PLY_STRENGTHS]
    if any(each is None for each in capacities):
        return
    strength = PlyStrength(*(each.value for each in capacities if each is not None))
    for criterion in _CRITERIA.get(topic, ()):

        def exposed(stress: Array, criterion: Callable = criterion) -> Array:  # type: ignore[type-arg]
            return np.asarray(criterion(stress, strength))

        def doubt(stress: Array, exposed: Scalar = exposed) -> Array:
            return np.maximum(exposed(stress), exposed(-stress))

        yield exposed, doubt
