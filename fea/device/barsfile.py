# SPDX-License-Identifier: MIT
"""The file of a bar-upright recipe: two bars between a moulded foot section and a front piece.

Heights and lengths that follow the limb are shares of it; clearances, walls, bars and rivets are
in mm, as built.
"""

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, model_validator

from fea.device.drilling import HoleTable
from fea.device.meshfile import (
    BarMm,
    Positive,
    SoleTable,
    WallMm,
    material_problems,
    strap_problems,
)
from fea.device.recipe import RecipeFile
from fea.device.strapping import StrapTable, hole_refusals
from fea.errors import Problem
from fea.inputfile import Schema, refuse
from fea.material.library import LibraryMaterial

Share = Annotated[float, Field(gt=0.0, lt=1.0)]
NotNegative = Annotated[float, Field(ge=0.0)]


class Shell(Schema):
    """Material and wall of a moulded shell."""

    material: str
    thickness_mm: WallMm
    thinning: Annotated[float, Field(gt=0.0, le=1.0)] = 1.0


class FootSection(Shell):
    """The moulded foot section: plate, walls, heel and the part above the ankle.

    Keys: `wall_height_share` of the ankle height; `wall_end_share` and `plate_length_share` of the
    foot length from the heel; `top_share` of the way from ankle axis to tibial plateau; `trim_mm`
    from the ankle axis forward to the trim line.
    """

    wall_height_share: Share
    wall_end_share: Share
    plate_length_share: Annotated[float, Field(gt=0.5, le=1.05)]
    top_share: Share
    trim_mm: Positive
    trim_radius_mm: Positive
    corner_radius_mm: Positive = 12.0
    sole_radius_mm: Positive = 12.0
    heel_radius_mm: Positive = 30.0
    toe_rise_mm: NotNegative = 0.0
    toe_round_mm: Positive = 30.0


class FrontPiece(Shell):
    """The moulded front piece below the knee.

    Keys: `bottom_share` and `top_share` of the way from ankle axis to tibial plateau;
    `wrap_share` of the girth that it covers from the front.
    """

    bottom_share: Share
    top_share: Share
    wrap_share: Share
    corner_radius_mm: Positive = 20.0

    @model_validator(mode="after")
    def _has_height(self) -> "FrontPiece":
        if self.bottom_share >= self.top_share:
            raise ValueError(f"bottom_share {self.bottom_share} must lie below top_share "
                             f"{self.top_share}")
        return self


class Bars(Schema):
    """The two bars: rectangular section set edgewise, following the mould at its outside.

    Keys: `behind_ankle_mm` from the ankle axis back to the bar's middle; `bottom_mm` and
    `top_mm`: from the sole up to the lower end, and from the top of the front piece down to the
    upper end.
    """

    material: str
    width_mm: BarMm
    depth_mm: BarMm
    behind_ankle_mm: float = 0.0
    bottom_mm: Positive
    top_mm: Positive


class Rivets(Schema):
    """Rivets or screws of each bar: how many at each end, and how far apart along the bar.

    `diameter_mm` of a thread is that of its core, and `hole_diameter_mm` what is drilled for it.
    """

    diameter_mm: Positive
    hole_diameter_mm: Positive | None = None
    washer_diameter_mm: Positive
    end_distance_mm: Positive
    foot_count: Annotated[int, Field(ge=2, le=4)]
    foot_spacing_mm: Positive
    front_count: Annotated[int, Field(ge=2, le=4)]
    front_spacing_mm: Positive
    material: str | None = None

    @model_validator(mode="after")
    def _fit_together(self) -> "Rivets":
        refuse(hole_refusals(self.diameter_mm, self.hole_diameter_mm))
        if self.washer_diameter_mm <= (self.hole_diameter_mm or self.diameter_mm):
            raise ValueError("washer_diameter_mm must exceed diameter_mm and hole_diameter_mm")
        if min(self.foot_spacing_mm, self.front_spacing_mm) < self.washer_diameter_mm:
            raise ValueError("the rivets stand closer than their washers are wide")
        return self


class BarsFile(RecipeFile):
    """Everything a device file with ``construction = "bars"`` may hold."""

    construction: Literal["bars"]
    origin: str
    licence: str = ""
    gap_mm: NotNegative
    malleolus_clearance_mm: NotNegative
    sole: SoleTable
    foot_section: FootSection
    front_piece: FrontPiece
    bars: Bars
    rivets: Rivets
    straps: tuple[StrapTable, ...] = ()
    holes: tuple[HoleTable, ...] = ()

    @model_validator(mode="after")
    def _clear_of_skin(self) -> "BarsFile":
        half = 0.5 * max(shell.thickness_mm * shell.thinning
                         for shell in (self.foot_section, self.front_piece))
        if half > self.gap_mm:
            raise ValueError(f"gap_mm {self.gap_mm:g} is less than half a wall, so that the wall "
                             f"would cut into the limb; make it at least {half:.3g}")
        return self

    def problems(self, library: Mapping[str, LibraryMaterial]) -> list[Problem]:
        """Materials that are unknown or a bare ply."""
        tables: tuple[tuple[str, FootSection | FrontPiece | Bars | Rivets], ...] = (
            ("foot_section", self.foot_section),
            ("front_piece", self.front_piece),
            ("bars", self.bars),
            ("rivets", self.rivets),
        )
        problems = [problem for where, table in tables if table.material is not None
                    for problem in material_problems(where, table.material, library)]
        return problems + strap_problems(self.straps, library)
