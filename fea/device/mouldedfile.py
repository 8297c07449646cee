# SPDX-License-Identifier: MIT
"""The file of a moulded recipe: one shell from the foot plate to the front piece below the knee.

What follows the limb is a share of it; clearances, radii and walls are in mm. Shares of height
count from the sole to the tibial plateau, shares of foot length from the heel.
"""

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, model_validator

from fea.device.drilling import HoleTable
from fea.device.meshfile import Layup, Positive, WallMm, strap_problems
from fea.device.selection import Point
from fea.device.strapping import StrapTable
from fea.errors import Problem
from fea.inputfile import Name, Schema, Title
from fea.material.library import Kind, LibraryMaterial

NotNegative = Annotated[float, Field(ge=0.0)]
Height = Annotated[float, Field(gt=0.0, le=1.1)]

THINNING = {"heel": 0.75, "ankle": 0.75}
"""As-built over sheet thickness of a drawn thermoplastic where it is drawn most. Source: practice
(a default for want of a measured thickness map; published percentages were not found)."""

THINNING_ELSEWHERE = 0.9
"""The same for all other walls. Source: practice."""

DIRECTIONS: Mapping[str, Point] = {
    "foot_plate": (1.0, 0.0, 0.0),
    "foot_walls": (1.0, 0.0, 0.0),
    "heel": (1.0, 0.0, -1.0),
}
"""Default axis 1 of sheet before projection, in which its section forces are given; up the shank
elsewhere. Plies follow the part instead (`fea.device.plydirection`)."""


class Foot(Schema):
    """Foot section: plate, walls and heel."""

    plate_length_share: Annotated[float, Field(ge=0.6, le=1.02)]
    toe_rise_mm: NotNegative
    toe_round_mm: Positive = 30.0
    wall_height_share: Annotated[float, Field(gt=0.2, le=1.0)]  # of the ankle height
    wall_end_share: Annotated[float, Field(gt=0.5, le=0.9)]
    sole_radius_mm: Annotated[float, Field(ge=3.0)]
    heel_radius_mm: Annotated[float, Field(ge=5.0)]


class Ankle(Schema):
    """Anterior trim line at the ankle, relief of the malleoli, and the angle held."""

    set_deg: Annotated[float, Field(ge=-20.0, le=15.0)]  # dorsiflexion positive
    anterior_trim_mm: float  # ahead of the ankle axis
    trim_radius_mm: Annotated[float, Field(ge=5.0)]
    malleolus_clearance_mm: NotNegative


class Opening(Schema):
    """Posterior opening between the uprights."""

    start_share: Height
    radius_mm: Annotated[float, Field(ge=3.0)]


class FrontPiece(Schema):
    """Front piece below the knee, or over the knee cap."""

    lower_share: Height
    upper_share: Height
    wrap_share: Annotated[float, Field(ge=0.3, le=0.9)]  # of the girth
    lower_radius_mm: Annotated[float, Field(ge=3.0)]
    corner_radius_mm: Annotated[float, Field(ge=3.0)]
    over_knee_mm: NotNegative = 0.0

    @model_validator(mode="after")
    def _has_height(self) -> "FrontPiece":
        if self.lower_share >= self.upper_share:
            raise ValueError(
                f"lower_share {self.lower_share} must lie below upper_share {self.upper_share}"
            )
        return self


class RibTable(Schema):
    """A ridge pressed outwards behind each malleolus."""

    behind_malleolus_mm: float
    above_malleolus_mm: float
    height_mm: Positive
    width_mm: Positive
    length_mm: Positive

    @model_validator(mode="after")
    def _drawable(self) -> "RibTable":
        if self.height_mm > self.width_mm:
            raise ValueError("height_mm must not exceed width_mm: the sheet cannot be drawn so")
        if self.length_mm < self.width_mm:
            raise ValueError("length_mm must be at least width_mm")
        return self


class Shoe(Schema):
    """What lies under the plate."""

    sole_mm: NotNegative
    heel_sole_difference_mm: float = 0.0


class WallTable(Schema):
    """One wall: a sheet before forming, which forming thins; what was measured after; or a layup.

    `upper_sheet_mm` tapers the sheet over the height of its zone, from `sheet_mm` at the bottom.
    """

    material: str
    sheet_mm: WallMm | None = None
    measured_mm: WallMm | None = None
    upper_sheet_mm: WallMm | None = None
    thinning: Annotated[float, Field(gt=0.3, le=1.0)] | None = None
    layup: Layup | None = None
    direction: Point | None = None

    @model_validator(mode="after")
    def _one_thickness(self) -> "WallTable":
        if [self.sheet_mm, self.measured_mm, self.layup].count(None) != 2:
            raise ValueError("needs exactly one of sheet_mm, measured_mm and layup")
        if self.sheet_mm is None and (self.upper_sheet_mm or self.thinning):
            raise ValueError("upper_sheet_mm and thinning belong to sheet_mm: nothing else thins")
        return self

    def thinned(self, key: str, kind: Kind) -> float:
        """As-built over given thickness: as the file says, else by zone for a drawn plastic."""
        if self.sheet_mm is None:
            return 1.0
        if self.thinning is not None:
            return self.thinning
        return THINNING.get(key, THINNING_ELSEWHERE) if kind == "thermoplastic" else 1.0


class Walls(Schema):
    """The wall of every zone; medial and lateral are alike."""

    foot_plate: WallTable
    foot_walls: WallTable
    heel: WallTable
    ankle: WallTable
    uprights: WallTable
    posterior_shell: WallTable
    front_piece: WallTable


class MouldedRecipeFile(Schema):
    """Everything a device file with ``construction = "moulded"`` may hold."""

    construction: Literal["moulded"]
    name: Name
    title: Title
    origin: str
    licence: str = ""
    side: Literal["left", "right"] | None = None
    gap_mm: Positive  # skin to the middle of the wall: liner and half the wall
    foot: Foot
    ankle: Ankle
    opening: Opening
    upright_width_mm: Positive
    front_piece: FrontPiece
    ribs: tuple[RibTable, ...] = ()
    straps: tuple[StrapTable, ...] = ()
    holes: tuple[HoleTable, ...] = ()
    shoe: Shoe
    walls: Walls

    def thickness_note(self, library: Mapping[str, LibraryMaterial]) -> str | None:
        """Where the thickness is a default for want of a measurement; None where it is nowhere."""
        tables = {name: getattr(self.walls, name) for name in Walls.model_fields}
        shares = [
            f"{name.replace('_', ' ')} {table.thinned(name, 'thermoplastic'):g}"
            for name, table in tables.items()
            if table.sheet_mm is not None
            and table.thinning is None
            and library[table.material].kind == "thermoplastic"
        ]
        if not shares:
            return None
        return (
            f"Forming thins the sheet to a share of it that nobody measured: {', '.join(shares)} "
            "(common practice, no source). Measure the wall after forming and give measured_mm."
        )

    def problems(self, library: Mapping[str, LibraryMaterial]) -> list[Problem]:
        """Materials that are unknown, or do not suit a sheet, a layup or a rivet."""
        problems = [
            problem
            for name in Walls.model_fields
            for problem in _wall_problems(f"walls.{name}", getattr(self.walls, name), library)
        ]
        return problems + strap_problems(self.straps, library)


def _wall_problems(
    where: str, wall: WallTable, library: Mapping[str, LibraryMaterial]
) -> list[Problem]:
    if wall.material not in library:
        return [
            Problem(
                f"{where}.material",
                (f"unknown material '{wall.material}'; the library has {', '.join(library)}"),
            )
        ]
    is_ply = library[wall.material].kind == "laminate"
    if is_ply and wall.layup is None:
        return [Problem(f"{where}.material", f"'{wall.material}' is a ply: give the wall a layup")]
    if wall.layup is not None and not is_ply:
        return [
            Problem(
                f"{where}.layup",
                (f"needs a ply material; '{wall.material}' is one solid: give sheet_mm instead"),
            )
        ]
    return []
