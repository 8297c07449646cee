# SPDX-License-Identifier: MIT
"""What several commands ask for alike, said once."""

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from cyclopts import Parameter

from fea.shipped import AUTO_STEP

DEFAULT_CASES = "walking-envelope"
"""What a load set is asked for, by its purpose."""

DeviceName = Annotated[str, Parameter(
    help="Name of a shipped device (see: stanchion list), or a device file.")]
ChangeName = Annotated[str, Parameter(
    help="A change that is made of the device first: a shipped name or a file.")]
Large = Annotated[bool, Parameter(help=(
    "Solve instants that turn the ankle beyond 5 degrees, in place of 8, again with large "
    "rotations; with --no-large-rotation none."))]
SizeMm = Annotated[float, Parameter(help=(
    "Cell size of a recipe; larger is quicker and less exact, smaller the other way round."))]
Debug = Annotated[bool, Parameter(
    negative="", help="Show where in the program an error came from.")]


@Parameter(name="*")
@dataclass(frozen=True)
class Who:
    """The wearer, as mass, height and side or by name, and the materials of the device."""

    mass_kg: Annotated[
        float, Parameter(help="Body mass with everything carried, kg.")] | None = None
    height_mm: Annotated[
        float, Parameter(help="Standing height without shoes, mm.")] | None = None
    side: Annotated[
        Literal["left", "right"], Parameter(help="Side of the device.")] | None = None
    wearer: Annotated[
        str, Parameter(help="Name of a shipped wearer, or a wearer file.")] | None = None
    materials: Annotated[Path, Parameter(
        help="File with materials of your own, laid over the shipped library.")] | None = None

    @property
    def inputs(self) -> dict[str, Any]:
        """What `fea.inputs.read_inputs` takes of it."""
        measures = {"--mass-kg": self.mass_kg, "--height-mm": self.height_mm, "--side": self.side}
        return {"wearer": self.wearer, "materials": self.materials, "measures": measures}


@Parameter(name="*")
@dataclass(frozen=True)
class Asked(Who):
    """What an assessment is asked for."""

    cases: Annotated[str, Parameter(
        help="Load set that the verdict rests on: a shipped name or a file.")] = DEFAULT_CASES
    step: Annotated[str, Parameter(help=(
        "Load set of one step, for charts, the knee and the service life. Left out, measured gait "
        "given by --cases is its own step; other loads of walking go with the typical one."
    ))] = AUTO_STEP
    changes: Annotated[tuple[str, ...], Parameter(name="--set", negative="", help=(
        "Change one number of the load set, NAME=VALUE or NAME*=FACTOR, as in --set fz_bw=1.5, or "
        'of one of its cases, as in --set "heel strike, toes up.fz_bw=1.5"; may be repeated.'
    ))] = ()
    requirements: Annotated[Path, Parameter(help=(
        "File with the life asked for, partial factors of your own, and whether numbers from "
        "memory may serve."))] | None = None
    size_mm: SizeMm | None = None
    large_rotation: Large | None = None

    @property
    def inputs(self) -> dict[str, Any]:
        """What `fea.inputs.read_inputs` takes of it."""
        return {**super().inputs, "cases": self.cases, "changes": self.changes, "step": self.step,
                "requirements": self.requirements}  # fmt: skip

    def how(self, requirements: object) -> dict[str, Any]:
        """What `fea.assess` takes of it, beside the loads; requirements as they were read."""
        return {"step": self.step, "size": self.size_mm, "requirements": requirements,
                "large_from_deg": large_from(self.large_rotation)}  # fmt: skip


def large_from(large_rotation: bool | None) -> float | None:
    """The angle from which to solve with large rotations: asked for, by default, or never."""
    from fea.check.stiffness import ROTATION_FLAG_DEG, ROTATION_LIMIT_DEG

    return {True: ROTATION_FLAG_DEG, None: ROTATION_LIMIT_DEG, False: None}[large_rotation]
