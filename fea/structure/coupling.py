# SPDX-License-Identifier: MIT
"""Supports, ties, elastic beds and rigid bodies: what holds a structure together."""

import math
from dataclasses import dataclass

from fea.errors import ModelError

Vector = tuple[float, float, float]

DOF_NAMES = ("ux", "uy", "uz", "rx", "ry", "rz")


@dataclass(frozen=True)
class Support:
    """Holds degrees of freedom of a place or body at a value.

    Args:
        place: name of a place or a body.
        dofs: names from "ux uy uz rx ry rz", separated by spaces (global axes). Nodes of solids
            have the first three only; the others are passed over there.
        value: the displacement (length) or rotation (rad) they are held at.
    """

    place: str
    dofs: str
    value: float = 0.0

    def __post_init__(self) -> None:
        names = self.dofs.split()
        for name in names:
            if name not in DOF_NAMES:
                raise ModelError(
                    f"support of '{self.place}': unknown degree of freedom '{name}'; "
                    f"use some of {' '.join(DOF_NAMES)}"
                )
        if not names:
            raise ModelError(f"support of '{self.place}' names no degree of freedom")
        if not math.isfinite(self.value):
            raise ModelError(f"support of '{self.place}': value {self.value} is not finite")

    @property
    def components(self) -> tuple[int, ...]:
        """Numbers 0 … 5 of the held components."""
        return tuple(DOF_NAMES.index(name) for name in self.dofs.split())


@dataclass(frozen=True)
class Tie:
    """Joins a single node to a patch of nodes of another part, without a spring.

    Args:
        place: a place of one node (the end of a strut, a rivet).
        patch: a place of one or more nodes.
        rule: "mean": the node follows the patch's mean rigid motion (least squares over the
            patch's translations), which bends freely: a soft washer. "rigid": the patch follows
            the node as one rigid piece: a clamped washer. The truth lies between.
    """

    place: str
    patch: str
    rule: str = "mean"

    def __post_init__(self) -> None:
        if self.rule not in ("mean", "rigid"):
            raise ModelError(f"tie of '{self.place}': rule '{self.rule}' is neither mean nor rigid")


@dataclass(frozen=True)
class Bed:
    """An elastic bed between a triangle zone and a body or the ground.

    Args:
        zone: triangle zone.
        body: name of the body, or None for the ground.
        normal_stiffness: pressure per displacement along the surface normal (N/mm³ for a device).
        tangential_stiffness: the same along the surface; it stays on where the body lets go.
        face: "top" (the +normal face) or "bottom" where the body lies on that face of the zone and
            only presses; None for a bed that pushes and pulls.
    """

    zone: str
    body: str | None
    normal_stiffness: float
    tangential_stiffness: float = 0.0
    face: str | None = None

    def __post_init__(self) -> None:
        if self.face not in (None, "top", "bottom"):
            raise ModelError(
                f"bed of '{self.zone}': face '{self.face}' is neither top nor bottom; leave it out "
                "for a bed that pushes and pulls"
            )
        for value in (self.normal_stiffness, self.tangential_stiffness):
            if not (math.isfinite(value) and value >= 0.0):
                raise ModelError(f"bed of '{self.zone}': stiffness {value} must not be negative")
        if self.normal_stiffness == self.tangential_stiffness == 0.0:
            raise ModelError(f"bed of '{self.zone}' has no stiffness; leave it out")


@dataclass(frozen=True)
class Strap:
    """A band that only pulls, from one place over points of a body to another place.

    It runs over the body without friction, so one tension acts along its whole length; each end
    pulls equally on all nodes of its place.

    Args:
        name: its name.
        ends: the two places it is fastened to.
        body: the body it runs over.
        over: points of the body, in order from the first end to the second (global).
        stiffness: tension per elongation of the whole band.
        slack: elongation from which it pulls; negative when it is worn tight.
    """

    name: str
    ends: tuple[str, str]
    body: str
    over: tuple[Vector, ...]
    stiffness: float
    slack: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.stiffness) and self.stiffness > 0.0):
            raise ModelError(f"strap '{self.name}': stiffness {self.stiffness} must be positive")
        if not math.isfinite(self.slack):
            raise ModelError(f"strap '{self.name}': slack {self.slack} is not finite")
        if not self.over:
            raise ModelError(f"strap '{self.name}' runs over no point of '{self.body}'; give one")


@dataclass(frozen=True)
class Spring:
    """An elastic support of a place or body against the ground, equal in each named component.

    Args:
        place: name of a place or a body; every node of a place has a spring of its own.
        dofs: names from "ux uy uz rx ry rz", separated by spaces (global axes).
        stiffness: force per displacement, or moment per rotation (rad).
    """

    place: str
    dofs: str
    stiffness: float

    def __post_init__(self) -> None:
        Support(self.place, self.dofs)
        if not (math.isfinite(self.stiffness) and self.stiffness > 0.0):
            raise ModelError(
                f"spring of '{self.place}': stiffness {self.stiffness} must be above 0"
            )

    @property
    def components(self) -> tuple[int, ...]:
        """Numbers 0 … 5 of the sprung components."""
        return tuple(DOF_NAMES.index(name) for name in self.dofs.split())


@dataclass(frozen=True)
class Body:
    """A rigid body with six degrees of freedom at a reference point.

    Args:
        name: its name; supports, point forces and beds speak of it like of a place.
        at: reference point, and the joint's centre where it is joined.
        joined_to: another body that this one is joined to at `at`; None leaves it loose.
        axis: hinge axis of the joint (global vector); None makes it a ball joint.
    """

    name: str
    at: Vector
    joined_to: str | None = None
    axis: Vector | None = None

    def __post_init__(self) -> None:
        if self.axis is not None and not math.hypot(*self.axis) > 0.0:
            raise ModelError(f"body '{self.name}': the hinge axis has no direction")
        if self.joined_to == self.name:
            raise ModelError(f"body '{self.name}' cannot be joined to itself")
