# SPDX-License-Identifier: MIT
"""Arrays to displacements for the Scordelis-Lo roof, over bare factorisation and solve.

    python tests/benchmarks/bench_scordelis.py [CELLS_ALONG_AN_EDGE]

A quarter of the roof (Scordelis A C, Lo K S, ACI J 1964;61:539-561) with 100 x 100 x 2 triangles,
61 206 degrees of freedom. The measure is the same backend on the same matrix, factorised and solved
once. Medians of several runs after one that is thrown away; the deflection is printed to show that
the right thing was solved.
"""

import sys
import time
from collections.abc import Callable
from statistics import median
from typing import TypeVar

import numpy as np

import fea
from fea.solver.factor import ScaledFactor, choose_backend

RUNS = 5
T = TypeVar("T")


def roof(n: int) -> tuple[np.ndarray, np.ndarray, dict[str, np.ndarray]]:
    """Points, triangles and sides of a quarter of the roof with n by n squares."""
    u, v = (k.ravel() for k in np.meshgrid(*[np.linspace(0, 1, n + 1)] * 2, indexing="ij"))
    half = np.radians(40.0)
    points = np.stack([25 * np.sin(half * u), 25 * v, 25 * np.cos(half * u)], axis=1)
    i, j = (k.ravel() for k in np.meshgrid(range(n), range(n), indexing="ij"))
    a = i * (n + 1) + j
    b, c, d = a + n + 1, a + n + 2, a + 1
    triangles = np.stack([a, b, c, a, c, d], axis=1).reshape(-1, 3)
    sides = {"crown": u == 0, "diaphragm": v == 1, "midspan": v == 0, "corner": (u == 1) & (v == 0)}
    return points, triangles, {name: np.flatnonzero(mask) for name, mask in sides.items()}


def model(points: np.ndarray, triangles: np.ndarray, places: dict[str, np.ndarray]) -> fea.Model:
    """The quarter under its weight."""
    zones = {"roof": ("triangle", np.arange(len(triangles)))}
    concrete = fea.Isotropic(youngs_modulus=4.32e8, poisson_ratio=0.0)
    return fea.Model(
        fea.Mesh(points, {"triangle": triangles}, places=places, zones=zones),
        {"roof": fea.ShellSection(concrete, thickness=0.25)},
        supports=[
            fea.Support("crown", "ux ry rz"),
            fea.Support("midspan", "uy rx rz"),
            fea.Support("diaphragm", "ux uz"),
        ],
        cases={"weight": [fea.SurfaceForce("roof", (0.0, 0.0, -90.0))]},
    )


def timed(work: Callable[[], T]) -> tuple[T, float]:
    """The result of some work, and the seconds it took."""
    start = time.perf_counter()
    result = work()
    return result, time.perf_counter() - start


def main(n: str = "100") -> None:
    """Print both times and their ratio; the two are timed in turn, on a machine that is shared."""
    arrays = roof(int(n))
    backend = choose_backend("auto")
    solution, _ = timed(lambda: fea.solve(model(*arrays))["weight"])
    matrix = solution.system.reduced
    right = np.ones((matrix.shape[0], 1))
    pairs = []
    for _ in range(RUNS):
        _, whole = timed(lambda: fea.solve(model(*arrays)))
        _, bare = timed(lambda: ScaledFactor(matrix, backend).solve(right))
        pairs.append((whole, bare))
    whole, bare = (median(times) for times in zip(*pairs, strict=True))
    ratio = median(whole / bare for whole, bare in pairs)
    deflection = solution.displacement[arrays[2]["corner"][0], 2]
    print(
        f"roof of {n} x {n} x 2 triangles, {6 * len(arrays[0])} degrees of freedom, "
        f"{solution.system.factor.name}: deflection {deflection:.4f} (published -0.3024)"
    )
    print(
        f"arrays to displacements {whole:.2f} s, factorisation and solve alone {bare:.2f} s: "
        f"{ratio:.2f} times"
    )


if __name__ == "__main__":
    main(*sys.argv[1:])
