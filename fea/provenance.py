# SPDX-License-Identifier: MIT
"""What an assessment was made from and with, so that it can be made again."""

import hashlib
import os
import platform
import time
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from importlib.metadata import PackageNotFoundError, version

import numpy as np

from fea.solver.gates import gate_table
from fea.solver.solution import Solution
from fea.solver.system import System

_PACKAGES = ("stanchion", "scikit-fem", "numpy", "scipy", "meshio", "pyvista")


def provenance(
    system: System,
    inputs: Sequence[object],
    solutions: Mapping[str, Solution],
    started: float,
) -> dict[str, object]:
    """Hash of the inputs, versions, solver, sizes, gates and time of a run.

    Args:
        system: what was solved.
        inputs: every value that went in.
        solutions: case to solution, for the gates.
        started: `time.perf_counter()` when the run began.
    """
    mesh = system.structure.mesh
    return {
        "inputs_sha256": fingerprint(inputs),
        "versions": {"python": platform.python_version(), **package_versions()},
        "solver": system.factor.name,
        "unknowns": system.reduced.shape[0],
        "nodes": len(mesh.points),
        "cells": {kind: len(cells) for kind, cells in mesh.cells.items()},
        "threads": os.environ.get("OMP_NUM_THREADS", "library default"),
        "seed": "none used in results",
        "gates": {
            name: {"worst": worst, "limit": limit}
            for name, (worst, limit) in gate_table(
                {case: solution.gates for case, solution in solutions.items()}
            ).items()
        },
        "seconds": round(time.perf_counter() - started, 2),
    }


def package_versions() -> dict[str, str]:
    """Versions of the packages that results depend on."""
    found = {}
    for name in _PACKAGES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not installed"
    return found


def fingerprint(values: Sequence[object]) -> str:
    """SHA-256 of values made of dataclasses, mappings, sequences, arrays and plain values.

    Example:
        >>> fingerprint([1.0, {"wall": np.ones(2)}]) == fingerprint([1.0, {"wall": np.ones(2)}])
        True
        >>> fingerprint([1.0]) == fingerprint([2.0])
        False
    """
    digest = hashlib.sha256()
    _feed(digest, values)
    return digest.hexdigest()


def _feed(digest: "hashlib._Hash", value: object) -> None:
    digest.update(type(value).__name__.encode())
    if isinstance(value, np.ndarray):
        digest.update(repr((value.shape, value.dtype.str)).encode())
        digest.update(np.ascontiguousarray(value).tobytes())
    elif is_dataclass(value) and not isinstance(value, type):
        for item in fields(value):
            if not item.compare:  # such as where a file lies
                continue
            digest.update(item.name.encode())
            _feed(digest, getattr(value, item.name))
    elif isinstance(value, Mapping):
        for key, entry in value.items():
            digest.update(repr(key).encode())
            _feed(digest, entry)
    elif isinstance(value, (list, tuple)):
        for entry in value:
            _feed(digest, entry)
    else:
        digest.update(repr(value).encode())
