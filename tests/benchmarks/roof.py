# SPDX-License-Identifier: MIT
"""The roof that benchmarks share, and the ways to its displacements.

Scordelis A C, Lo K S, ACI J 1964;61:539-561: radius 25, length 50, half-angle 40 degrees, wall
0.25, E = 4.32e8, ν = 0, weight 90 per area, rigid diaphragms. A quarter of it with n by n squares
of two triangles. Every way starts from arrays, keeps nothing from an earlier call and returns the
sag of the free edge at midspan.
"""

from collections.abc import Callable
from contextlib import redirect_stdout
from dataclasses import dataclass
from functools import cached_property
from io import StringIO

import numpy as np
from scipy.sparse import coo_matrix, csc_matrix, csr_matrix, diags, triu
from scipy.sparse.linalg import splu

import fea

try:
    import openseespy.opensees as ops
except (ImportError, RuntimeError) as error:
    ops, NO_OPENSEES = None, f"openseespy does not load ({error})"
try:
    import pyfe3d
    from pyfe3d.shellprop_utils import isotropic_plate
except ImportError as error:
    pyfe3d, NO_PYFE3D = None, f"pyfe3d does not load ({error})"
try:
    import pypardiso
except ImportError as error:
    pypardiso, NO_PARDISO = None, f"pypardiso does not load ({error})"

try:
    with redirect_stdout(StringIO()):  # it greets with what it misses
        import sfepy.mechanics.shell10x as shell10x
        from sfepy.base.base import output
        from sfepy.discrete import Equation, Equations, FieldVariable, Integral, Material, Problem
        from sfepy.discrete.conditions import Conditions, EssentialBC
        from sfepy.discrete.fem import FEDomain, Field, Mesh
        from sfepy.solvers.ls import ScipyDirect
        from sfepy.solvers.nls import Newton
        from sfepy.terms import Term

        output.set_output(quiet=True)
except ImportError as error:
    shell10x, NO_SFEPY = None, f"sfepy does not load ({error})"

YOUNG, POISSON, WALL, WEIGHT = 4.32e8, 0.0, 0.25, 90.0
HELD = {"crown": "ux ry rz", "midspan": "uy rx rz", "diaphragm": "ux uz"}
_DOFS = ("ux", "uy", "uz", "rx", "ry", "rz")


@dataclass(frozen=True)
class Roof:
    """Arrays of the quarter with n by n squares."""

    n: int

    @cached_property
    def points(self) -> np.ndarray:
        """Points (m, 3)."""
        u, v = self._parameters
        half = np.radians(40.0)
        return np.stack([25 * np.sin(half * u), 25 * v, 25 * np.cos(half * u)], axis=1)

    @cached_property
    def triangles(self) -> np.ndarray:
        """Triangles (2 n², 3)."""
        i, j = (k.ravel() for k in np.meshgrid(range(self.n), range(self.n), indexing="ij"))
        a = i * (self.n + 1) + j
        b, c, d = a + self.n + 1, a + self.n + 2, a + 1
        return np.stack([a, b, c, a, c, d], axis=1).reshape(-1, 3)

    @cached_property
    def places(self) -> dict[str, np.ndarray]:
        """Nodes of the sides, and of the corner whose sag is published."""
        u, v = self._parameters
        sides = {
            "crown": u == 0,
            "diaphragm": v == 1,
            "midspan": v == 0,
            "corner": (u == 1) & (v == 0),
        }
        return {name: np.flatnonzero(mask) for name, mask in sides.items()}

    @property
    def corner(self) -> int:
        """The node whose sag is published."""
        return int(self.places["corner"][0])

    @property
    def dofs(self) -> int:
        """Degrees of freedom, held ones included."""
        return 6 * len(self.points)

    @cached_property
    def _parameters(self) -> list[np.ndarray]:
        line = np.linspace(0, 1, self.n + 1)
        return [k.ravel() for k in np.meshgrid(line, line, indexing="ij")]

    def weights(self) -> np.ndarray:
        """Vertical forces (m,) at the nodes: a third of each triangle's."""
        a, b, c = (self.points[self.triangles[:, k]] for k in range(3))
        share = np.linalg.norm(np.cross(b - a, c - a), axis=1) * (-WEIGHT / 6.0)
        return np.bincount(self.triangles.ravel(), np.repeat(share, 3))

    def held(self) -> np.ndarray:
        """Mask (m, 6) of the held degrees of freedom."""
        mask = np.zeros((len(self.points), 6), dtype=bool)
        for place, names in HELD.items():
            for name in names.split():
                mask[self.places[place], _DOFS.index(name)] = True
        return mask


def model(roof: Roof) -> fea.Model:
    """The roof as a model of ours."""
    mesh = fea.Mesh(
        roof.points,
        {"triangle": roof.triangles},
        places=roof.places,
        zones={"roof": ("triangle", np.arange(len(roof.triangles)))},
    )
    concrete = fea.Isotropic(youngs_modulus=YOUNG, poisson_ratio=POISSON)
    return fea.Model(
        mesh,
        {"roof": fea.ShellSection(concrete, thickness=WALL)},
        supports=[fea.Support(place, names) for place, names in HELD.items()],
        cases={"weight": [fea.SurfaceForce("roof", (0.0, 0.0, -WEIGHT))]},
    )


def ours(roof: Roof, solver: str) -> float:
    """Through the gates of the solver."""
    return float(fea.solve(model(roof), solver=solver)["weight"].displacement[roof.corner, 2])


def scaled_matrix(system: fea.System) -> csr_matrix:
    """The matrix that the backend is given: free degrees of freedom, diagonal 1."""
    scale = diags(1.0 / np.sqrt(system.reduced.diagonal()))
    matrix = csr_matrix(scale @ system.reduced @ scale)
    matrix.sort_indices()
    return matrix


def bare_superlu(matrix: csc_matrix) -> Callable[[], object]:
    """Nothing but factorisation and one solve, with the options that the solver gives."""
    right = np.ones(matrix.shape[0])
    options = {"permc_spec": "MMD_AT_PLUS_A", "diag_pivot_thresh": 0.0}
    return lambda: splu(matrix, options={"SymmetricMode": True}, **options).solve(right)


def bare_pardiso(matrix: csr_matrix, settings: dict[int, int]) -> Callable[[], object]:
    """Nothing but analysis, factorisation and one solve; no settings are the package's own."""
    upper = csr_matrix(triu(matrix, format="csr"))
    upper.sort_indices()
    right, solver = np.ones((matrix.shape[0], 1)), pypardiso.PyPardisoSolver(mtype=2)

    def work() -> object:
        for number, value in settings.items():
            solver.set_iparm(number, value)
        for phase in (12, 33):
            solver.set_phase(phase)
            result = solver._call_pardiso(upper, right)
        solver.free_memory(everything=True)
        return result

    return work


def opensees(roof: Roof, system: str = "UmfPack") -> float:
    """Through OpenSees with its discrete Kirchhoff triangles (ShellDKGT), called node by node."""
    ops.wipe()
    ops.model("basic", "-ndm", 3, "-ndf", 6)
    for number, point in enumerate(roof.points.tolist()):
        ops.node(number, *point)
    ops.section("ElasticMembranePlateSection", 1, YOUNG, POISSON, WALL, 0.0)
    for number, cell in enumerate(roof.triangles.tolist(), start=1):
        ops.element("ShellDKGT", number, *cell, 1)
    held = roof.held()
    for number in np.flatnonzero(held.any(axis=1)).tolist():
        ops.fix(number, *held[number].astype(int).tolist())
    ops.timeSeries("Linear", 1)
    ops.pattern("Plain", 1, 1)
    for number, weight in enumerate(roof.weights().tolist()):
        ops.load(number, 0.0, 0.0, weight, 0.0, 0.0, 0.0)
    ops.constraints("Plain")
    ops.numberer("RCM")
    ops.system(system)
    ops.integrator("LoadControl", 1.0)
    ops.algorithm("Linear")
    ops.analysis("Static")
    if ops.analyze(1) != 0:
        raise RuntimeError("the analysis failed")
    return ops.nodeDisp(roof.corner, 3)


def discrete_shear_gap(roof: Roof) -> float:
    """Through pyfe3d with its discrete-shear-gap triangles; SuperLU with our solver's options."""
    data, probe = pyfe3d.Tria3DSGData(), pyfe3d.Tria3DSGProbe()
    size = data.KC0_SPARSE_SIZE * len(roof.triangles)
    rows, columns = np.zeros((2, size), dtype=pyfe3d.INT)
    values, x = np.zeros(size), roof.points.ravel()
    prop = isotropic_plate(thickness=WALL, E=YOUNG, nu=POISSON)
    for number, cell in enumerate(roof.triangles.tolist()):
        element = pyfe3d.Tria3DSG(probe)
        element.n1, element.n2, element.n3 = cell
        element.c1, element.c2, element.c3 = (6 * node for node in cell)
        element.init_k_KC0 = number * data.KC0_SPARSE_SIZE
        element.update_rotation_matrix(x, 0.0, 0.0, 0.0)
        element.update_probe_xe(x)
        element.update_area()
        element.update_KC0(rows, columns, values, prop)
    matrix = coo_matrix((values, (rows, columns)), (roof.dofs, roof.dofs)).tocsc()
    free = ~roof.held().ravel()
    forces = np.zeros((len(roof.points), 6))
    forces[:, 2] = roof.weights()
    result = np.zeros(roof.dofs)
    options = {"permc_spec": "MMD_AT_PLUS_A", "diag_pivot_thresh": 0.0}
    factor = splu(matrix[free][:, free], options={"SymmetricMode": True}, **options)
    result[free] = factor.solve(forces.ravel()[free])
    return float(result[6 * roof.corner + 2])


def quadrilaterals(roof: Roof, drilling: float = 1e-3) -> float:
    """Through sfepy, whose shells have four nodes only: the same nodes, squares undivided.

    Its drilling rotations are held by a weight, on which the sag depends: of 1e-7 to 1, this one
    comes nearest to what is published on 10 to 40 squares.
    """
    m = roof.n + 1
    a = roof.triangles[::2, 0]
    squares = np.stack([a, a + m, a + m + 1, a + 1], axis=1).astype(np.int32)
    nodes, cells = np.zeros(len(roof.points), np.int32), np.zeros(len(squares), np.int32)
    domain = FEDomain(
        "roof", Mesh.from_data("roof", roof.points, nodes, [squares], [cells], ["2_4"])
    )
    whole, every = (domain.create_region(kind, "all", kind) for kind in ("cell", "vertex"))
    field = Field.from_args("f", np.float64, 6, whole, 1, poly_space_basis="shell10x")
    u = FieldVariable("u", "unknown", field)
    v = FieldVariable("v", "test", field, primary_var_name="u")
    wall = Material(
        "wall", D=shell10x.create_elastic_tensor(YOUNG, POISSON), values={".drill": drilling}
    )
    forces = np.zeros((len(roof.points), 6))
    forces[:, 2] = roof.weights()
    load = Material("load", values={".force": forces})
    points, weights = Integral("i", order=3).get_qp("3_8")
    points[:, 2] = WALL * (points[:, 2] - 0.5)
    rule = Integral("i", coors=points, weights=weights * WALL, order="custom")
    elastic = Term.new("dw_shell10x(wall.D, wall.drill, v, u)", rule, whole, wall=wall, v=v, u=u)
    weight = Term.new("dw_point_load(load.force, v)", rule, every, load=load, v=v)
    held = []
    for place, names in HELD.items():
        region = domain.create_region(
            place, "vertex " + ", ".join(map(str, roof.places[place])), "vertex"
        )
        dofs = ",".join(str(_DOFS.index(name)) for name in names.split())
        held.append(EssentialBC(place, region, {f"u.[{dofs}]": 0.0}))
    problem = Problem("roof", equations=Equations([Equation("balance", elastic - weight)]))
    problem.set_bcs(ebcs=Conditions(held))
    problem.set_solver(Newton({"i_max": 1}, lin_solver=ScipyDirect({})))
    state = problem.solve(save_results=False)
    return float(state().reshape(-1, 6)[roof.corner, 2])
