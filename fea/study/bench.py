# SPDX-License-Identifier: MIT
"""A laboratory's stiffness bench, repeated on the model: moment over angle about three axes.

The foot plate is held, and a rigid dummy shank turns about one axis through the ankle at a time;
its other motions are held. It touches the device as the rig says. Nothing but contact, straps and
walls carries the moment, so the curve differs from direction to direction. Within one direction a
linear curve is straight, since contact without gaps opens and closes in the same places at any
load, unless a strap pulls late; one with large rotations bends.
"""

import math
import textwrap
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from fea.assessment import Wearable
from fea.check.stiffness import ROTATION_LIMIT_DEG
from fea.device.device import Device
from fea.device.facing import SHANK_BODY, landmark, limb_face
from fea.errors import DeviceError, InputError, UnsupportedError
from fea.limb import Limb
from fea.provenance import provenance
from fea.solver.solution import Solution
from fea.solver.system import System, prepare
from fea.sources import cite
from fea.structure.coupling import Bed, Body, Support
from fea.structure.model import Structure
from fea.structure.realise import plate_span, realise
from fea.structure.tissue import SLIP_SHARE
from fea.study.benchcurve import N_M_PER_DEG, TURNS, Curve, Turn, unheld
from fea.study.rig import DIRECTIONS, Direction, Published, Quantity, Rig, nearest_rig, rig_of
from fea.tables import text_table
from fea.wearer import Wearer

RIG_SPREAD = 0.31
"""Share by which rigs put the same device off their mean: half the median spread of 62 % between
five rigs. Source: shuman-2023."""

_ALL = "ux uy uz rx ry rz"
_CLAMP = "clamped foot plate"
# Stiffness of a loose pad along the surface over that across it. Grip stays on where the dummy lets
# go, so it would pull; in torsion a round shank without any would turn freely in a round shell.
_GRIP = {3: 0.0, 4: 0.0, 5: SLIP_SHARE}


@dataclass(frozen=True, eq=False)
class Bench:
    """One device on one rig.

    Attributes:
        device, wearer, rig: what went in; the device as fitted.
        curves: one for each direction.
        provenance: hash of the inputs, versions, solver, sizes.
        run: each solution behind the curves, by direction and moment in N·m.
    """

    device: Device
    wearer: Wearer
    rig: Rig
    curves: Mapping[Direction, Curve]
    provenance: Mapping[str, object]
    run: Mapping[tuple[Direction, float], Solution] = field(repr=False)

    def stiffness(self, quantity: Quantity) -> float | None:
        """N·mm/rad, or None where it is not judged.

        Args:
            quantity: a direction, or "sagittal range": the range of moment over the range of angle
                from the rig's full plantarflexing to its full dorsiflexing moment.
        """
        if quantity != "sagittal range":
            return self.curves[quantity].stiffness
        ends = [self.curves[each] for each in ("dorsiflexion", "plantarflexion")]
        if any(curve.because for curve in ends):
            return None
        moment, angle = (sum(float(getattr(c, n)[-1]) for c in ends) for n in ("moment", "angle"))
        return moment / angle

    @property
    def fully_judged(self) -> bool:
        """Whether every curve reaches the rig's moment."""
        return not any(curve.because for curve in self.curves.values())

    def beside(self, published: Published) -> str:
        """Where this device lies beside a published class, in words; context, no validation."""
        found = self.stiffness(published.quantity)
        if found is None:
            return "not judged"
        value = found / N_M_PER_DEG
        if value > published.high * (1.0 + RIG_SPREAD):
            return f"above: {_times(value / published.high)} its upper end"
        if value < published.low * (1.0 - RIG_SPREAD):
            return f"below: {_times(value / published.low)} its lower end"
        return "within what rigs differ by"

    def __str__(self) -> str:
        rig, name = self.rig, f"{self.device.title} ({self.device.name})"
        rows = [
            (curve.direction, _in_n_m_per_deg(curve.stiffness), _last(curve.moment, 1e-3),
             _last(curve.angle, 180.0 / math.pi), curve.remark)
            for curve in self.curves.values()
        ]  # fmt: skip
        head = ("direction", "stiffness, N·m/deg", "up to, N·m", "angle there, deg", "remark")
        return "\n".join(
            (
                f"{name} on the bench, {self.device.side} leg",
                f"Rig {rig.name}: {rig.title}",
                textwrap.fill(f"{rig.about} Source ({rig.status}): {cite(rig.source)}", 100),
                "",
                text_table(head, rows),
                "",
                self._classes(),
            )
        )

    def _classes(self) -> str:
        """The published classes of the rig, and where this device lies beside them."""
        if not self.rig.published:
            return "No published class belongs to this rig."
        lines = [
            f"- {each.name}, {each.quantity}: {each.low:g} to {each.high:g} N·m/deg "
            f"({each.status}; {each.note}). Here {_shown(self.stiffness(each.quantity))}"
            f"{self.beside(each)}."
            for each in self.rig.published
        ]
        told = textwrap.fill(
            "Published on this rig, chosen before anything was solved; context, no validation: "
            "walls, sizes and trim lines of those devices are not known. Five rigs put the same "
            "devices apart by 62 % of their mean (27 % without the one that hangs weights), so "
            f"{100 * RIG_SPREAD:.0f} % to either side says nothing. How the foot is held weighs "
            "most: with the heel free a device may be a third as stiff (rig held-forefoot). "
            f"Source: {cite('shuman-2023')}",
            100,
        )  # fmt: skip
        return "\n".join((told, *(textwrap.fill(line, 100) for line in lines)))


def _in_n_m_per_deg(stiffness: float | None) -> float | None:
    return None if stiffness is None else stiffness / N_M_PER_DEG


def _shown(stiffness: float | None) -> str:
    return "" if stiffness is None else f"{stiffness / N_M_PER_DEG:.3g} N·m/deg; "


def _times(ratio: float) -> str:
    return f"{ratio:.0f} times" if ratio >= 10.0 else f"{ratio:.2g} times"


def _last(values: NDArray[np.float64], factor: float) -> float | None:
    return factor * float(values[-1]) if values.size else None


def bench(
    device: Wearable,
    wearer: Wearer,
    *,
    rig: str | Rig | None = None,
    size: float | None = None,
    large_from_deg: float | None = ROTATION_LIMIT_DEG,
    solver: str = "auto",
    progress: Callable[[str], None] = lambda message: None,
) -> Bench:
    """Put a device on a stiffness bench.

    Args:
        device: from `read_device`; a recipe is fitted to the wearer, a mesh is never resized.
        wearer: whose limb a recipe is fitted to.
        rig: a name (see `fea.study.rig.rigs`) or a rig; None takes the one on which devices of
            this material were measured.
        size: cell size of a recipe, mm; None takes the recipe's own.
        large_from_deg: a curve that a linear solve takes further than this is solved with large
            rotations as a whole; None ends it at 8°, beyond which a linear solve judges nothing.
        solver: "auto", "superlu" or "pardiso".
        progress: called with a few words before each part of the work.

    Returns:
        Curves in six directions. A curve ends early where no equilibrium is found, and says so.

    Raises:
        InputError: an unknown rig, or a device that it cannot hold.
        SolveError: the equations have no answer that can be trusted.

    Example:
        >>> import fea
        >>> wearer = fea.Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> bare = fea.read_device("bare-two-upright-polypropylene-child")
        >>> result = fea.bench(bare, wearer, rig="dummy-shank", size=16.0)
        >>> result.stiffness("dorsiflexion") > result.stiffness("torsion inward")
        True
    """
    started = time.perf_counter()
    fitted = device.fit(Limb.of(wearer), size)
    chosen = nearest_rig(fitted) if rig is None else rig_of(rig) if isinstance(rig, str) else rig
    curves: dict[Direction, Curve] = {}
    run: dict[tuple[Direction, float], Solution] = {}
    prepared: list[System] = []
    for axis in (4, 3, 5):
        turns = [each for each in DIRECTIONS if TURNS[each][0] == axis]
        progress(f"turning: {' and '.join(turns)}")
        structure = on_rig(fitted, chosen, axis)
        try:
            prepared.append(prepare(structure, solver))
        except UnsupportedError as error:
            curves |= {each: unheld(each, chosen, error) for each in turns}
            continue
        for direction in turns:
            turn = Turn(prepared[-1], fitted, chosen, direction)
            curves[direction], solutions = turn.curve(large_from_deg)
            run |= solutions
    if not run:
        raise UnsupportedError(f"rig '{chosen.name}' holds the dummy in no direction: "
                               f"{curves['dorsiflexion'].because}")
    gated = {f"{direction} {moment:g} N·m": each for (direction, moment), each in run.items()}
    made = provenance(prepared[0], (fitted, wearer, chosen), gated, started)
    return Bench(fitted, wearer, chosen, curves, made, run)


def on_rig(device: Device, rig: Rig, axis: int) -> Structure:
    """The device on a rig whose dummy turns about one axis.

    Args:
        device: of fixed geometry.
        rig: how it is held.
        axis: 3, 4 or 5: frontal, sagittal or torsion, about x, y or z through the ankle.

    Raises:
        DeviceError: the dummy would touch nothing.
    """
    worn = realise(device)
    mesh, beds = worn.mesh, []
    for zone in device.shank_zones if rig.zones is None else rig.zones:
        numbers = _touched(device, rig, zone)
        if not numbers.size:
            continue
        pad = f"{zone} on the dummy"
        mesh = mesh.with_zones({pad: ("triangle", numbers)})
        clamped = rig.contact == "clamped"
        beds.append(
            Bed(
                pad, SHANK_BODY, rig.pad, rig.pad * (1.0 if clamped else _GRIP[axis]),
                None if clamped else limb_face(device, mesh, pad, SHANK_BODY),
            )
        )  # fmt: skip
    if not beds:
        raise DeviceError(
            f"device '{device.name}' has no zone on the shank that the dummy of rig '{rig.name}' "
            "touches; choose another rig"
        )
    held = " ".join(name for k, name in enumerate(_ALL.split()) if k != axis)
    straps = [strap for strap in worn.straps if strap.body == SHANK_BODY] if rig.straps else []
    return Structure(
        mesh=mesh.with_places({_CLAMP: _held(device, rig)}),
        sections=worn.sections,
        supports=(Support(_CLAMP, _ALL), Support(SHANK_BODY, held)),
        ties=worn.ties,
        beds=beds,
        bodies=(Body(SHANK_BODY, at=landmark(device, "ankle_axis")),),
        straps=tuple(replace(strap, slack=rig.strap_slack) for strap in straps),
    )


def _touched(device: Device, rig: Rig, zone: str) -> NDArray[np.int64]:
    """Numbers of the triangles of a zone that the dummy touches."""
    mesh = device.mesh
    if zone not in device.shank_zones:
        known = ", ".join(f"'{name}'" for name in device.shank_zones) or "none"
        raise InputError(f"rig '{rig.name}': '{zone}' is no zone on the shank; there are {known}")
    heights = np.concatenate([mesh.points[mesh.zone_nodes(each), 2] for each in device.shank_zones])
    lowest = heights.min() + rig.from_share * (heights.max() - heights.min())
    numbers = mesh.zone(zone)[1]
    centres = mesh.points[mesh.zone_cells(zone)].mean(axis=1)
    return numbers[centres[:, 2] >= lowest] if rig.from_share else numbers


def _held(device: Device, rig: Rig) -> NDArray[np.int64]:
    """Nodes of the plate that the rig clamps."""
    nodes = np.concatenate([device.mesh.zone_nodes(zone) for zone in device.plate_zones])
    heel, end = plate_span(device)
    ahead = device.mesh.points[nodes, 0] >= heel + rig.held_from * (end - heel)
    return np.unique(nodes[ahead])
