# SPDX-License-Identifier: MIT
"""Stanchion: will this floor-reaction orthosis hold?

The names below are the public Python interface, for the orthosis and for any structure of struts,
shells and solids. Names that need a heavy library (mesh files, pictures) load when first used.
"""

import importlib
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING

from fea.material.isotropic import Isotropic
from fea.material.laminate import Laminate, Ply
from fea.mesh.mesh import Mesh
from fea.solver.buckling import Buckling, buckle
from fea.solver.corotational import solve_large
from fea.solver.largesolution import LargeSolution
from fea.solver.solution import Solution
from fea.solver.static import solve
from fea.solver.system import System, prepare
from fea.structure.coupling import Bed, Body, Spring, Strap, Support, Tie
from fea.structure.limbmodel import LimbModel
from fea.structure.loads import EdgeForce, PatchForce, PointForce, Pressure, SurfaceForce
from fea.structure.model import Model, Structure
from fea.structure.sections import ShellSection, SolidSection, StrutSection
from fea.wearer import Wearer, read_wearer

if TYPE_CHECKING:
    from fea.assessment import Assessment, assess
    from fea.device.change import apply_change
    from fea.device.changefile import AddedBar, Change, Overlay, ZoneChange, read_change
    from fea.device.reader import read_device
    from fea.loadcase.reader import read_load_set
    from fea.mesh.solidreading import read_mesh
    from fea.reporting import report
    from fea.study.advice import advice
    from fea.study.bench import bench
    from fea.study.chance import chance
    from fea.study.compare import compare
    from fea.study.gradient import gradient
    from fea.study.lightest import lightest
    from fea.study.mass import largest_mass
    from fea.study.parameter import Design
    from fea.study.scatter import Scatter, read_scatter
    from fea.study.sensitivity import sensitivity
    from fea.study.sweep import sweep
    from fea.study.sweepplan import How, Plan, grid, hypercube

_LAZY = {
    "AddedBar": "fea.device.changefile",
    "Assessment": "fea.assessment",
    "Change": "fea.device.changefile",
    "Design": "fea.study.parameter",
    "How": "fea.study.sweepplan",
    "Overlay": "fea.device.changefile",
    "Plan": "fea.study.sweepplan",
    "Scatter": "fea.study.scatter",
    "ZoneChange": "fea.device.changefile",
    "advice": "fea.study.advice",
    "apply_change": "fea.device.change",
    "assess": "fea.assessment",
    "bench": "fea.study.bench",
    "chance": "fea.study.chance",
    "compare": "fea.study.compare",
    "gradient": "fea.study.gradient",
    "grid": "fea.study.sweepplan",
    "hypercube": "fea.study.sweepplan",
    "largest_mass": "fea.study.mass",
    "lightest": "fea.study.lightest",
    "read_change": "fea.device.changefile",
    "read_device": "fea.device.reader",
    "read_load_set": "fea.loadcase.reader",
    "read_mesh": "fea.mesh.solidreading",
    "read_scatter": "fea.study.scatter",
    "report": "fea.reporting",
    "sensitivity": "fea.study.sensitivity",
    "sweep": "fea.study.sweep",
}

__all__ = [
    "AddedBar",
    "Assessment",
    "Bed",
    "Body",
    "Buckling",
    "Change",
    "Design",
    "EdgeForce",
    "How",
    "Isotropic",
    "Laminate",
    "LargeSolution",
    "LimbModel",
    "Mesh",
    "Model",
    "Overlay",
    "PatchForce",
    "Plan",
    "Ply",
    "PointForce",
    "Pressure",
    "Scatter",
    "ShellSection",
    "SolidSection",
    "Solution",
    "Spring",
    "Strap",
    "Structure",
    "StrutSection",
    "Support",
    "SurfaceForce",
    "System",
    "Tie",
    "Wearer",
    "ZoneChange",
    "advice",
    "apply_change",
    "assess",
    "bench",
    "buckle",
    "chance",
    "compare",
    "gradient",
    "grid",
    "hypercube",
    "largest_mass",
    "lightest",
    "prepare",
    "read_change",
    "read_device",
    "read_load_set",
    "read_mesh",
    "read_scatter",
    "read_wearer",
    "report",
    "sensitivity",
    "solve",
    "solve_large",
    "sweep",
]


def __getattr__(name: str) -> object:
    if name == "__version__":
        try:
            return version("stanchion")
        except PackageNotFoundError:
            return "unknown: not installed"
    if name not in _LAZY:
        raise AttributeError(f"module 'fea' has no attribute '{name}'")
    return getattr(importlib.import_module(_LAZY[name]), name)


def __dir__() -> list[str]:
    return sorted([*__all__, "__version__"])
