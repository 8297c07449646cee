# SPDX-License-Identifier: MIT
"""What a check asks, as a smooth function of displacement and of the thickness of each cell.

Recovered stress is a chain of linear maps: motion of cells, their mean section forces, the forces
at a corner, the stress of a layer there. What is measured of it (von Mises stress, exposure of a
ply) is smooth where it governs. The estimated error that a demand contains is such a measure too,
of the largest departure in the fit of that corner, and the same cell is taken to stay the largest.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.errors import ModelError
from fea.material.laminate import Laminate
from fea.solver.fitting import Fit, tensor_turn, vector_turn
from fea.solver.parts import Struts
from fea.solver.recovery import SAFETY, UNSUPPORTED, Recovered
from fea.solver.solution import Solution, layer_stress
from fea.structure.model import Structure
from fea.structure.sections import ShellSection, StrutSection, torsion_shear
from fea.study.thickening import STEP, Thickening, force_matrices
from fea.tensors import von_mises

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
Scalar = Callable[[Array], Array]
"""From stress (..., 3) to what is measured of it (...)."""

Layer = str | tuple[int, int]
"""A face of a wall of one material ("top", ...), or number and height (0 to 2) of a ply."""

_NUDGE = 1e-5  # of the stress, to take the slope of a measure


@dataclass(frozen=True, eq=False)
class Response:
    """A value of one solved case, and how it answers.

    Attributes:
        solution: the case.
        value: what is asked.
        slope: (N,) per displacement, thicknesses as they are.
        triangles, lines: (c,), (m,) per logarithm of each cell's thickness, displacements as they
            are.
    """

    solution: Solution
    value: float
    slope: Array
    triangles: Array
    lines: Array


@dataclass(frozen=True, eq=False)
class Reading:
    """One place where stress is read.

    Attributes:
        cell, corner: of a triangle.
        layer: of its wall.
        measure: of the stress there.
        doubt: of a change of stress, for the error; None leaves the error out.
    """

    cell: int
    corner: int
    layer: Layer
    measure: Scalar = von_mises
    doubt: Scalar | None = von_mises


@dataclass(frozen=True, eq=False)
class _Term:
    """``share`` times a measure of the stress that section forces of some cells make in a cell.

    Section forces there are the sum of ``blocks`` (k, 8, 8) times the mean ones of ``cells`` (k,).
    """

    share: float
    at: int
    layer: Layer
    measure: Scalar
    cells: IntArray
    blocks: Array


def wall_response(recovered: Recovered, thickening: Thickening, reading: Reading) -> Response:
    """The stress of a wall at one corner, with its error.

    Args:
        recovered: of one case.
        thickening: of its system.
        reading: where, and what of it.

    Raises:
        ModelError: more than one case.
    """
    if len(recovered.solutions) != 1:
        raise ModelError(f"a response is of one case; got {len(recovered.solutions)}")
    solution, means = recovered.solutions[0], recovered.cells[:, :, 0]
    slope = np.zeros_like(solution.vector)
    own = np.zeros(len(means))
    value = 0.0
    for term in _terms(recovered, reading):
        value += _add(term, thickening, solution, means, slope, own)
    struts = solution.system.struts
    return Response(
        solution, value, slope, own, np.zeros(0 if struts is None else len(struts.dofs))
    )


def reading_value(recovered: Recovered, reading: Reading) -> float:
    """What is asked there, of the one case of ``recovered``."""
    means, structure = recovered.cells[:, :, 0], recovered.recovery.system.structure
    return sum(
        term.share * _value(term, means, structure, term.measure)
        for term in _terms(recovered, reading)
    )


def _terms(recovered: Recovered, reading: Reading) -> list[_Term]:
    """The stress, and its error."""
    fit, cell, corner = recovered.recovery.fit, reading.cell, reading.corner
    cells, blocks = _corner_map(fit, cell, corner)
    stress = _Term(1.0, cell, reading.layer, reading.measure, cells, blocks)
    if reading.doubt is None:
        return [stress]
    structure = recovered.recovery.system.structure
    spot, cells_taken = recovered.taken(np.array([cell]))
    around = cells_taken[spot == fit.spots.of_corner[cell, corner]]
    departure = recovered.corners[around, :, :, 0].mean(axis=2) - recovered.cells[around, :, 0]
    size = np.array([
        float(reading.doubt(stress_map(structure, int(one), reading.layer) @ off))
        for one, off in zip(around, departure, strict=True)
    ])  # fmt: skip
    worst = int(around[np.argmax(size)])
    if recovered.few(np.array([cell]))[0, corner]:
        floor = UNSUPPORTED * _value(stress, recovered.cells[:, :, 0], structure, reading.doubt)
        if floor >= SAFETY * size.max():
            return [
                stress,
                _Term(UNSUPPORTED, cell, reading.layer, reading.doubt, cells, blocks),
            ]
    if not size.max() > 0.0:
        return [stress]
    return [stress, _Term(SAFETY, worst, reading.layer, reading.doubt, *_off_mean(fit, worst))]


def _value(term: _Term, means: Array, structure: Structure, measure: Scalar) -> float:
    force = np.einsum("kij,kj->i", term.blocks, means[term.cells])
    return float(measure(stress_map(structure, term.at, term.layer) @ force))


def _off_mean(fit: Fit, cell: int) -> tuple[IntArray, Array]:
    """The map from mean section forces to what the recovered ones are off at a cell's centre."""
    maps = [_corner_map(fit, cell, corner) for corner in range(3)]
    cells = np.concatenate([*(each for each, _ in maps), [cell]])
    return cells, np.concatenate([*(blocks / 3.0 for _, blocks in maps), -np.eye(8)[None]])


def _corner_map(fit: Fit, cell: int, corner: int) -> tuple[IntArray, Array]:
    """Cells (k,) and maps (k, 8, 8) from their mean section forces to those at a corner."""
    spot = int(fit.spots.of_corner[cell, corner])
    cells = fit.taken[1][fit.taken[0] == spot]
    cosine, sine = (each[cell, corner] for each in fit.to_corner)
    blocks = np.zeros((len(cells), 8, 8))
    for size, matrix, turn, places in (
        (3, fit.tensors, tensor_turn(cosine, sine), (slice(0, 3), slice(3, 6))),
        (2, fit.vectors, vector_turn(cosine, sine), (slice(6, 8),)),
    ):
        columns = (size * cells[:, None] + np.arange(size)).ravel()
        rows = matrix[size * spot : size * (spot + 1)][:, columns].toarray()
        turned = turn @ np.moveaxis(rows.reshape(size, -1, size), 1, 0)
        for place in places:
            blocks[:, place, place] = turned
    return cells, blocks


def stress_map(structure: Structure, cell: int, layer: Layer) -> Array:
    """Map (3, 8) from section forces of a triangle to the stress in a layer of its wall."""
    zone, row = structure.zone_of("triangle", cell)
    section = structure.sections[zone]
    assert isinstance(section, ShellSection)
    if not isinstance(section.material, Laminate):
        wall = section.walls(len(structure.mesh.zone(zone)[1]))[row]
        section = replace(section, thickness=float(wall))
    strains = np.linalg.inv(section.stiffness(1)[0]).T
    if isinstance(layer, str):
        height = np.asarray(section.heights(1, layer)[0])
        return np.asarray(layer_stress(section, strains, height, layer).T)
    assert isinstance(section.material, Laminate)
    middle = strains[:, :3] + section.offset * strains[:, 3:6]
    ply, face = layer
    return np.asarray(section.material.ply_stresses(middle, strains[:, 3:6])[:, ply, face].T)


def _add(
    term: _Term, thickening: Thickening, solution: Solution, means: Array, slope: Array, own: Array
) -> float:
    """The value of a term; its rates are added to ``slope`` and ``own``."""
    shells = solution.system.shells
    assert shells is not None
    force = np.einsum("kij,kj->i", term.blocks, means[term.cells])
    to_stress = stress_map(solution.system.structure, term.at, term.layer)
    stress = to_stress @ force
    steep = term.share * _slope(term.measure, stress)
    per_mean = np.einsum("kij,i->kj", term.blocks, steep @ to_stress)
    motion = solution.shell_motion[term.cells]
    here = force_matrices(shells, term.cells)
    np.add.at(slope, shells.dofs[term.cells], np.einsum("kj,kjd->kd", per_mean, here))
    above, below = (force_matrices(each, term.cells) for each in thickening.shells)
    rates = np.einsum("kjd,kd->kj", above - below, motion) / (2.0 * STEP)
    np.add.at(own, term.cells, np.sum(per_mean * rates, axis=1))
    maps = (stress_map(each, term.at, term.layer) for each in (thickening.above, thickening.below))
    high, low = maps
    own[term.at] += float(steep @ (high - low) @ force) / (2.0 * STEP)
    return term.share * float(term.measure(stress))


def _slope(measure: Scalar, stress: Array) -> Array:
    """Slope (3,) of a measure."""
    nudges = _NUDGE * np.abs(stress).max() * np.eye(3)
    return np.asarray(
        (measure(stress + nudges) - measure(stress - nudges)) / (2.0 * np.diag(nudges))
    )


def bar_response(
    solution: Solution, thickening: Thickening, cell: int, end: int, fibre: int
) -> Response:
    """Axial and torsional stress of a bar together, at one end of a strut, in one fibre.

    Args:
        solution: the case;  thickening: of its system.
        cell: number of the line;  end: 0 or 1;  fibre: of its section.
    """
    struts = solution.system.struts
    assert struts is not None
    above, below = thickening.struts
    structures = (solution.system.structure, thickening.above, thickening.below)
    rows, high, low = (
        _bar_rows(structure, part, cell, end, fibre)
        for structure, part in zip(structures, (struts, above, below), strict=True)
    )
    dofs = struts.dofs[cell]
    moved = solution.vector[dofs]
    axial, twist = rows @ moved
    value = float(np.hypot(axial, np.sqrt(3.0) * twist))
    per_stress = np.array([axial, 3.0 * twist]) / value
    slope = np.zeros_like(solution.vector)
    np.add.at(slope, dofs, per_stress @ rows)
    lines = np.zeros(len(struts.dofs))
    lines[cell] = float(per_stress @ (high - low) @ moved) / (2.0 * STEP)
    shells = solution.system.shells
    return Response(
        solution, value, slope, np.zeros(0 if shells is None else len(shells.dofs)), lines
    )


def _bar_rows(structure: Structure, struts: Struts, cell: int, end: int, fibre: int) -> Array:
    """Rows (2, 12) from the motion of a strut's nodes to axial stress and shear of torsion."""
    section = structure.sections[structure.zone_of("line", cell)[0]]
    assert isinstance(section, StrutSection) and section.fibre_points is not None
    points = np.asarray(section.fibre_points)
    y, z = points[fibre]
    depth, width = 2.0 * np.abs(points).max(axis=0)
    one = slice(cell, cell + 1)
    local = struts.local_matrices(one)[0] @ struts.frames.to_ends[cell]
    forces = (-1.0, 1.0)[end] * local[6 * end : 6 * end + 6]
    axial = forces[0] / section.area + forces[4] * z / section.i_y - forces[5] * y / section.i_z
    return np.stack([axial, forces[3] * torsion_shear(float(width), float(depth))])


def motion_response(solution: Solution, slope: Array) -> Response:
    """A linear function (N,) of displacement, in size: such as the rotation of a body."""
    value = float(slope @ solution.vector)
    shells, struts = solution.system.shells, solution.system.struts
    none = [np.zeros(0 if part is None else len(part.dofs)) for part in (shells, struts)]
    return Response(solution, abs(value), np.sign(value) * slope, *none)
