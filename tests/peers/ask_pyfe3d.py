# SPDX-License-Identifier: MIT
"""A model of triangles and struts in pyfe3d: discrete-shear-gap triangles, consistent beams.

    python tests/peers/ask_pyfe3d.py QUESTION.json ANSWER.json
"""

import json
import sys
from pathlib import Path

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu

try:
    import pyfe3d
    from pyfe3d.beamprop import BeamProp
    from pyfe3d.shellprop_utils import isotropic_plate, laminated_plate
except ImportError as error:
    sys.exit((sys.stderr.write(f"pyfe3d does not load: {error}\n"), 3)[1])


class Matrix:
    """Rows, columns and values that the elements fill one after the other."""

    def __init__(self, size: int):
        self.rows, self.columns = np.zeros((2, size), dtype=pyfe3d.INT)
        self.values = np.zeros(size)
        self.used = 0

    def add(self, element, prop, size: int) -> None:
        element.init_k_KC0 = self.used
        element.update_KC0(self.rows, self.columns, self.values, prop)
        self.used += size


def wall_property(wall: dict):
    """Section of a shell zone."""
    if "angles_deg" in wall:
        return laminated_plate(
            wall["angles_deg"], plyts=wall["thicknesses"], laminaprop=tuple(wall["ply"])
        )
    return isotropic_plate(
        thickness=wall["thickness"], E=wall["youngs_modulus"], nu=wall["poisson_ratio"]
    )


def beam_property(bar: dict) -> BeamProp:
    """Section of a strut zone; the shear areas enter as factors on the shear modulus."""
    prop = BeamProp()
    prop.A, prop.E, prop.G = bar["area"], bar["youngs_modulus"], bar["shear_modulus"]
    prop.Iyy, prop.Izz, prop.J = bar["i_y"], bar["i_z"], bar["j"]
    prop.G12 = prop.G * bar["shear_area_y"] / bar["area"]
    prop.G13 = prop.G * bar["shear_area_z"] / bar["area"]
    return prop


def assemble(question: dict, x: np.ndarray) -> Matrix:
    triangle, beam = pyfe3d.Tria3DSGData(), pyfe3d.BeamCData()
    size = triangle.KC0_SPARSE_SIZE * sum(len(wall["triangles"]) for wall in question["shells"])
    size += beam.KC0_SPARSE_SIZE * sum(len(bar["lines"]) for bar in question["struts"])
    matrix, shell_probe, beam_probe = Matrix(size), pyfe3d.Tria3DSGProbe(), pyfe3d.BeamCProbe()
    for wall in question["shells"]:
        prop = wall_property(wall)
        for cell in wall["triangles"]:
            element = pyfe3d.Tria3DSG(shell_probe)
            element.n1, element.n2, element.n3 = cell
            element.c1, element.c2, element.c3 = (6 * node for node in cell)
            element.update_rotation_matrix(x, *(wall.get("direction") or (0.0, 0.0, 0.0)))
            element.update_probe_xe(x)
            element.update_area()
            matrix.add(element, prop, triangle.KC0_SPARSE_SIZE)
    for bar in question["struts"]:
        prop = beam_property(bar)
        for start, end in bar["lines"]:
            element = pyfe3d.BeamC(beam_probe)
            element.n1, element.n2, element.c1, element.c2 = start, end, 6 * start, 6 * end
            along = x[3 * end : 3 * end + 3] - x[3 * start : 3 * start + 3]
            element.update_rotation_matrix(*np.cross(bar["up"], along), x)
            element.update_probe_xe(x)
            matrix.add(element, prop, beam.KC0_SPARSE_SIZE)
    return matrix


def solve(question: dict) -> dict:
    """Displacements of the nodes."""
    x = np.ravel(question["points"]).astype(float)
    matrix = assemble(question, x)
    total = 2 * len(x)
    stiffness = coo_matrix((matrix.values, (matrix.rows, matrix.columns)), (total, total)).tocsc()
    free = np.ones(total, dtype=bool)
    for node, dof in question["held"]:
        free[6 * node + dof] = False
    result = np.zeros(total)
    result[free] = splu(stiffness[free][:, free]).solve(np.ravel(question["forces"])[free])
    return {"displacement": result.reshape(-1, 6).tolist()}


if __name__ == "__main__":
    asked, answered = map(Path, sys.argv[1:])
    answered.write_text(json.dumps(solve(json.loads(asked.read_text()))))
