# SPDX-License-Identifier: MIT
"""The moulded recipe: one shell over the limb, from the foot plate to the front piece."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.device.device import Device, Sole, Wall
from fea.device.drilling import drilled, hole_notes
from fea.device.mouldedfile import (
    DIRECTIONS,
    MouldedRecipeFile,
    WallTable,
)
from fea.device.mouldedform import form_of, trim_of
from fea.device.mouldedshell import MouldedShell
from fea.device.plydirection import along_the_part, posed_directions
from fea.device.recipe import FileRecipe
from fea.device.strapping import strapped
from fea.errors import DeviceError, FileError, Problem
from fea.inputfile import read_toml
from fea.limb import Limb
from fea.material.laminate import Laminate
from fea.material.library import LibraryMaterial, read_library
from fea.mesh.mesh import Mesh

SIZE = 6.0
"""Default edge length of the mesh, mm; at trim radii and ribs it is finer."""

TABLE_OF = {
    "foot plate": "foot_plate",
    "foot walls": "foot_walls",
    "heel": "heel",
    "ankle medial": "ankle",
    "ankle lateral": "ankle",
    "upright medial": "uprights",
    "upright lateral": "uprights",
    "posterior shell": "posterior_shell",
    "front piece": "front_piece",
}
_SHANK_ZONES = ("upright medial", "upright lateral", "posterior shell", "front piece")


@dataclass(frozen=True)
class MouldedRecipe(FileRecipe[MouldedRecipeFile]):
    """A moulded device, to be fitted to a limb."""

    size = SIZE

    def fit(self, limb: Limb, size: float | None = None) -> Device:
        """The device on a limb.

        Args:
            limb: gives side, landmarks and surface.
            size: edge length of the mesh, mm; None for `SIZE`.

        Returns:
            The zones of `ZONES` that have cells; normals point away from the limb.

        Raises:
            DeviceError: the recipe is for the other side, or its measures do not fit this limb
                or each other.
            FileError: straps and holes that find no place; every one is listed.
        """
        size, content = SIZE if size is None else size, self.content
        problems: list[Problem] = []
        self._require_fitting(limb, size)
        form, trim = form_of(content, limb), trim_of(content, limb)
        shell = MouldedShell.build(limb, form, trim, size)
        walls = self._walls(limb, (form.fan_x, form.fan_z), shell)
        self._require_clear_of_skin(walls)
        plate = float(np.max(walls["foot plate"].thickness))
        sole = Sole(
            content.shoe.sole_mm + 0.5 * plate,
            content.shoe.heel_sole_difference_mm,
            content.ankle.set_deg,
        )

        def posed(points: NDArray[np.float64]) -> NDArray[np.float64]:
            return limb.pose(points, sole.height + form.gap, sole.ankle_set_deg)

        zones = {zone: ("triangle", cells) for zone, cells in shell.zones.items()}
        mesh = Mesh(posed(shell.points), {"triangle": shell.triangles}, zones=zones)
        mesh, straps = strapped(mesh, content.straps, 0.0, self.library, problems)
        landmarks = {name: posed(point) for name, point in limb.landmarks.items()}
        landmarks["plate_end"] = posed(np.array([form.plate_end, 0.0, form.toe_rise - form.gap]))
        mesh, holes = drilled(mesh, content.holes, landmarks, problems)
        if problems:
            raise FileError(self.name, problems)
        return Device(
            name=self.name, title=self.title, side=limb.side,
            mesh=mesh,
            walls=walls,
            plate_zones=("foot plate",),
            foot_zones=("foot plate", "foot walls", "heel"),
            shank_zones=tuple(zone for zone in _SHANK_ZONES if zone in zones),
            landmarks=landmarks,
            sole=sole,
            origin=content.origin,
            straps=straps,
            holes=holes,
            notes=(*self._notes(), *sole.notes, *hole_notes(mesh, holes)),
        )

    def _notes(self) -> tuple[str, ...]:
        thickness = self.content.thickness_note(self.library)
        clear = "The ankle zones are taken to stand clear of the limb."
        return (clear,) if thickness is None else (clear, thickness)

    def _walls(
        self, limb: Limb, centre: tuple[float, float], shell: MouldedShell
    ) -> dict[str, Wall]:
        """The wall of each zone; plies lie along the part, in the pose of the device."""
        middles = shell.points[shell.triangles].mean(axis=1)
        along, set_deg = along_the_part(middles, centre), self.content.ankle.set_deg
        along = posed_directions(along, middles, lambda points: limb.pose(points, 0.0, set_deg))
        return {zone: self._wall(zone, shell, along) for zone in shell.zones}

    def _wall(self, zone: str, shell: MouldedShell, along: NDArray[np.float64]) -> Wall:
        key = TABLE_OF[zone]
        table: WallTable = getattr(self.content.walls, key)
        material = self.library[table.material]
        if table.layup is not None:
            layup = Laminate(material.elastic, table.layup.angles_deg, table.layup.thicknesses_mm)
            lies = along[shell.zones[zone]] if table.direction is None else table.direction
            return Wall(material, layup.thickness, layup, lies)
        direction = table.direction or DIRECTIONS.get(key, (0.0, 0.0, 1.0))
        thinning = table.thinned(key, material.kind)
        given = table.sheet_mm or table.measured_mm
        assert given is not None  # the schema wants one of them where there is no layup
        thickness: float | NDArray[np.float64] = given * thinning
        if table.upper_sheet_mm is not None:
            height = shell.points[shell.triangles[shell.zones[zone]]].mean(axis=1)[:, 2]
            share = (height - height.min()) / np.ptp(height)
            thickness = thinning * (given + share * (table.upper_sheet_mm - given))
        return Wall(material, thickness, direction=direction, thinning=thinning)

    def _require_fitting(self, limb: Limb, size: float) -> None:
        if self.content.side not in (None, limb.side):
            raise DeviceError(
                f"device '{self.name}' is for the {self.content.side} side, the wearer's is the "
                f"{limb.side}; use a recipe of that side, or leave `side` out"
            )
        if not 1.0 <= size <= 25.0:
            raise DeviceError(f"element size {size:g} mm must lie between 1 and 25 mm")

    def _require_clear_of_skin(self, walls: Mapping[str, Wall]) -> None:
        for zone, wall in walls.items():
            half = 0.5 * float(np.max(wall.thickness))
            if half > self.content.gap_mm:
                raise DeviceError(
                    f"the wall of '{zone}' is {2 * half:.3g} mm thick, but its middle lies only "
                    f"gap_mm = {self.content.gap_mm:g} mm off the skin: it would cut into the "
                    f"limb; make gap_mm at least {half:.3g}"
                )


def read_moulded_recipe(
    path: str | Path, library: Mapping[str, LibraryMaterial] | None = None
) -> MouldedRecipe:
    """Read a recipe with ``construction = "moulded"``.

    Args:
        path: TOML file.
        library: materials by name; None for the shipped ones.

    Raises:
        FileError: the file is unusable; every problem is listed.
    """
    content = read_toml(path, MouldedRecipeFile)
    library = read_library() if library is None else library
    if problems := content.problems(library):
        raise FileError(path, problems)
    return MouldedRecipe(content, library)
