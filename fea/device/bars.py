# SPDX-License-Identifier: MIT
"""The bar-upright recipe: two riveted bars between a moulded foot section and a front piece."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.device.barsfile import BarsFile, Shell
from fea.device.device import Bar, Device, Fastening, Wall
from fea.device.drilling import drilled, hole_notes
from fea.device.fastening import fasten
from fea.device.recipe import FileRecipe
from fea.device.strapping import strapped
from fea.device.upright import SIZE, Upright
from fea.errors import DeviceError, FileError, Problem
from fea.inputfile import read_toml
from fea.limb import Limb
from fea.material.library import LibraryMaterial, read_library
from fea.mesh.mesh import Mesh

Points = NDArray[np.float64]
Cells = NDArray[np.int64]
Pose = Callable[[Points], Points]

PARTS = ("medial", "lateral")
FOOT_SHELL = ("plate", "foot wall", "ankle wall")
FRONT_SHELL = ("front piece",)


@dataclass(frozen=True)
class BarsRecipe(FileRecipe[BarsFile]):
    """A device of two bar uprights, to be fitted to a limb."""

    size = SIZE

    def fit(self, limb: Limb, size: float | None = None) -> Device:
        """The device on a limb.

        Args:
            limb: gives side, landmarks and surface.
            size: edge length of the mesh, mm; None for `SIZE`.

        Returns:
            Zones "plate", "foot wall" (below the ankle axis), "ankle wall" (above) and "front
            piece"; bars "medial bar" and "lateral bar". Plate and foot wall touch the foot, the
            front piece the shank; the ankle wall stands clear of the limb.

        Raises:
            DeviceError: trim lines that cross, a rivet over an edge, a bar that leaves the limb.
            FileError: straps and holes that find no place; every one is listed.
        """
        sides = [Upright(self.content, limb, part, SIZE if size is None else size)
                 for part in PARTS]
        sole = self.content.sole

        def posed(points: Points) -> Points:
            return limb.pose(points, sole.height_mm + self.content.gap_mm, sole.ankle_set_deg)

        mesh, fastenings = self._fastened(_mesh(sides, posed), sides, posed)
        problems: list[Problem] = []
        mesh, straps = strapped(mesh, self.content.straps, 0.0, self.library, problems)
        form = sides[0].side.form
        toe = np.array([form.plate_end, 0.0, form.toe_rise - form.gap])
        landmarks = {name: posed(point) for name, point in limb.landmarks.items()}
        landmarks["plate_end"] = posed(toe)
        mesh, holes = drilled(mesh, self.content.holes, landmarks, problems)
        if problems:
            raise FileError(self.name, problems)
        return Device(
            name=self.name,
            title=self.title,
            side=limb.side,
            mesh=mesh,
            walls=self._walls(),
            plate_zones=("plate",),
            foot_zones=("plate", "foot wall"),
            shank_zones=FRONT_SHELL,
            landmarks=landmarks,
            sole=sole.sole(),
            origin=self.content.origin,
            bars={f"{part} bar": self._bar() for part in PARTS},
            fastenings=fastenings,
            straps=straps,
            holes=holes,
            notes=("The part of the foot section above the ankle axis is taken to stand clear of "
                   "the limb.", *sole.sole().notes, *hole_notes(mesh, holes)),
        )

    def _walls(self) -> dict[str, Wall]:
        def wall(shell: Shell) -> Wall:
            thickness = shell.thickness_mm * shell.thinning
            return Wall(self.library[shell.material], thickness, thinning=shell.thinning)

        foot, front = wall(self.content.foot_section), wall(self.content.front_piece)
        return {**dict.fromkeys(FOOT_SHELL, foot), **dict.fromkeys(FRONT_SHELL, front)}

    def _bar(self) -> Bar:
        bars = self.content.bars
        material = self.library[bars.material]
        return Bar(material, bars.width_mm, bars.depth_mm, up=(1.0, 0.0, 0.0))

    def _fastened(
        self, mesh: Mesh, sides: list[Upright], posed: Pose
    ) -> tuple[Mesh, tuple[Fastening, ...]]:
        rivets, fastenings = self.content.rivets, list[Fastening]()
        for upright in sides:
            for number, at in enumerate(posed(upright.bar()[1])):
                in_front = number >= rivets.foot_count
                row = number - rivets.foot_count * in_front + 1
                mesh, fastening = fasten(
                    mesh,
                    f"{upright.part} {'front' if in_front else 'foot'} rivet {row}",
                    at=at,
                    bar_zone=f"{upright.part} bar",
                    shell_zones=FRONT_SHELL if in_front else FOOT_SHELL,
                    washer_diameter=rivets.washer_diameter_mm,
                    diameter=rivets.diameter_mm,
                    reach=2.0 * upright.standoff,
                    material=None if rivets.material is None else self.library[rivets.material],
                    hole_diameter=rivets.hole_diameter_mm,
                    others=fastenings,
                )
                fastenings.append(fastening)
        return mesh, tuple(fastenings)


def read_bars_recipe(
    path: str | Path, library: Mapping[str, LibraryMaterial] | None = None
) -> BarsRecipe:
    """Read a recipe with ``construction = "bars"``.

    Args:
        path: TOML file.
        library: materials by name; None for the shipped ones.

    Raises:
        FileError: the file is unusable; every problem is listed.
    """
    content = read_toml(path, BarsFile)
    library = read_library() if library is None else library
    problems = content.problems(library)
    if problems:
        raise FileError(path, problems)
    return BarsRecipe(content, library)


@dataclass
class _Draft:
    """Points and cells gathered piece by piece."""

    points: list[Points] = field(default_factory=list)
    count: int = 0

    def add(self, points: Points) -> Cells:
        """Take points (n, 3); returns their numbers (n,)."""
        self.points.append(points)
        self.count += len(points)
        return np.arange(self.count - len(points), self.count)


def _mesh(sides: list[Upright], posed: Pose) -> Mesh:
    """Both shells and both bars, with their zones."""
    draft = _Draft()
    foot, flat = _shell(draft, sides, "foot_section")
    front, _ = _shell(draft, sides, "front_piece")
    lines: list[Cells] = []
    zones: dict[str, tuple[str, Cells]] = {}
    for upright in sides:
        number = draft.add(upright.bar()[0])
        start = sum(len(part) for part in lines)
        lines.append(np.stack([number[:-1], number[1:]], axis=1))
        zones[f"{upright.part} bar"] = ("line", np.arange(start, start + len(number) - 1))
    points = np.concatenate(draft.points)
    triangles = np.concatenate([foot, front])
    height = points[foot].mean(axis=1)[:, 2]
    low = height < sides[0].limb.ankle_height
    split = {"plate": flat, "foot wall": ~flat & low, "ankle wall": ~flat & ~low}
    for name, mask in split.items():
        zones[name] = ("triangle", np.flatnonzero(mask))
    zones["front piece"] = ("triangle", np.arange(len(foot), len(triangles)))
    return Mesh(posed(points), {"triangle": triangles, "line": np.concatenate(lines)}, zones=zones)


def _shell(draft: _Draft, sides: list[Upright], name: str) -> tuple[Cells, NDArray[np.bool_]]:
    """Both halves of a shell on shared midline nodes: triangles facing out, and which lie flat."""
    shared: Cells | None = None
    triangles, flat = [], []
    for upright in sides:
        places, cells, middle = getattr(upright, name)()
        points = upright.side.points(places)
        if shared is None:
            number = draft.add(points)
            shared = number[:middle]
        else:
            if middle != len(shared):
                raise DeviceError(f"the halves of the {name.replace('_', ' ')} do not meet in the "
                                  "middle plane; use another element size")
            number = np.concatenate([shared, draft.add(points[middle:])])
        # the pattern has x forward and z up: seen from the wearer's right it faces out
        outward = cells if upright.side.sign < 0.0 else cells[:, ::-1]
        triangles.append(number[outward])
        flat.append(upright.side.on_plate(places[cells].mean(axis=1)))
    return np.concatenate(triangles), np.concatenate(flat)
