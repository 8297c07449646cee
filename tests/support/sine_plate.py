# SPDX-License-Identifier: MIT
"""Laminated plates of shells under q sin(πx/a) sin(πy/a) or q sin(πx/a), and their amplitudes."""

from dataclasses import dataclass

import numpy as np
from jitter import BOTH
from small_models import flat, grid, solve_one

import fea
from fea.mesh.mesh import triangle_geometry

HELD_ALONG = [  # each edge carries u, v like its diaphragm: no displacement along the edge
    fea.Support("u0", "uy uz rx"), fea.Support("v0", "ux uz ry"),
]  # fmt: skip
HELD_ACROSS = [  # no displacement across the edge, free along it
    fea.Support("u0", "ux uz rx"), fea.Support("u1", "ux uz rx"),
    fea.Support("v0", "uy uz ry"), fea.Support("v1", "uy uz ry"),
]  # fmt: skip
MIDDLE = [fea.Support("u1", "ux ry rz"), fea.Support("v1", "uy rx rz")]
NO_CHANGE_ALONG_Y = [fea.Support("v0", "uy rx rz"), fea.Support("v1", "uy rx rz")]


@dataclass(frozen=True)
class SinePlate:
    """A solved plate; p, r are the wave numbers along x and y.

    Everything is read as the amplitude of its wave, by least squares over the cells (weighted by
    their area) or nodes, so a single number stands for the whole field.
    """

    solution: fea.Solution
    p: float
    r: float

    @property
    def deflection(self):
        """Amplitude of the deflection, by the nodes."""
        shape = self._wave("ss", self.solution.system.structure.mesh.points)
        return self.solution.displacement[:, 2] @ shape / (shape @ shape)

    def force(self, component, wave="ss"):
        """Amplitude of one of N11 N22 N12 M11 M22 M12 Q13 Q23."""
        return self._amplitude(self.solution.section_forces("skin")[:, component], wave)

    def strain(self, component, wave="ss"):
        """Amplitude of one of ε11 ε22 γ12 κ11 κ22 κ12 γ13 γ23."""
        return self._amplitude(self.solution.strains("skin")[:, component], wave)

    def shear_stress(self, height):
        """Amplitudes of τ13, τ23 at a height, from the slopes of the amplitudes of N and M.

        Along x a sine turns into p times a cosine, and a cosine (of N12, M12) into -p times a sine.
        """
        waves = ("ss", "ss", "cc") * 2 if self.r else ("ss",) * 6
        forces = np.array([self.force(k, wave) for k, wave in enumerate(waves)])
        forces *= [1, 1, -1, 1, 1, -1]
        wall = self.solution.system.structure.sections["skin"].material
        return wall.interlaminar_shear(self.p * forces, self.r * forces, heights=[height])[0]

    def stress(self, ply, layer, component, wave="ss"):
        """Amplitude at the bottom (0), middle (1) or top (2) of a ply, in ply axes."""
        return self._amplitude(self.solution.ply_stress("skin")[:, ply, layer, component], wave)

    def _amplitude(self, values, wave):
        mesh = self.solution.system.structure.mesh
        cells = mesh.cells["triangle"]
        area, _ = triangle_geometry(mesh.points, cells)
        shape = self._wave(wave, mesh.points[cells].mean(axis=1))
        return (area * values * shape).sum() / (area * shape**2).sum()

    def _wave(self, wave, points):
        x, y = self.p * points[:, 0], self.r * points[:, 1]
        along = {"s": np.sin, "c": np.cos}
        return along[wave[0]](x) * (along[wave[1]](y) if self.r else 1.0)


def square_plate(wall, side, n, kind="structured", *, edges="along"):
    """A simply supported square plate: a quarter with n by n squares, or ("across") the whole."""
    size, supports = (side, HELD_ACROSS) if edges == "across" else (side / 2, HELD_ALONG + MIDDLE)
    mesh = grid(n, n, flat(size, size), **BOTH[kind])
    return _solve(mesh, wall, supports, np.pi / side, np.pi / side)


def wide_plate(wall, span, n, kind="structured"):
    """Half the span of a plate of infinite width: a strip, n squares long and 4 wide."""
    mesh = grid(n, 4, flat(span / 2, 2 * span / n), **BOTH[kind])
    supports = [fea.Support("u0", "uz"), MIDDLE[0], *NO_CHANGE_ALONG_Y]
    return _solve(mesh, wall, supports, np.pi / span, 0.0)


def _solve(mesh, wall, supports, p, r):
    nodal = _consistent(mesh, p, r)
    mesh = mesh.with_places({f"node {i}": [i] for i in range(len(nodal))})
    loads = [fea.PointForce(f"node {i}", (0.0, 0.0, force)) for i, force in enumerate(nodal)]
    section = fea.ShellSection(wall, direction=(1, 0, 0))
    return SinePlate(solve_one(mesh, {"skin": section}, supports, loads), p, r)


def _consistent(mesh, p, r):
    """Nodal forces (n,) of the unit wave of pressure on linear shape functions."""
    cells = mesh.cells["triangle"]
    area, _ = triangle_geometry(mesh.points, cells)
    result = np.zeros(len(mesh.points))
    for shares in (np.full((3, 3), 1 / 6) + np.eye(3) / 2):  # exact for quadratics
        x, y, _ = np.einsum("k,cki->ic", shares, mesh.points[cells])
        pressure = np.sin(p * x) * (np.sin(r * y) if r else 1.0)
        np.add.at(result, cells, (area * pressure / 3)[:, None] * shares)
    return result
