# SPDX-License-Identifier: MIT
"""Linear statics of a model."""

from fea.solver.solution import Solution
from fea.solver.system import System, prepared_for
from fea.structure.model import Model


def solve(
    model: Model, start: System | None = None, *, solver: str = "auto"
) -> dict[str, Solution]:
    """Solve every case of a model with one factorisation.

    Args:
        model: structure and cases.
        start: a `System` of the same structure to use again; None prepares one.
        solver: "auto", "superlu" or "pardiso"; used when a system is prepared.

    Returns:
        Case name to `Solution`, in the order of the model's cases.

    Raises:
        UnsupportedError: a part can move freely, or a mechanism remains; the part is named.
        GateError: an answer was refused; the case is named.
        ModelError, LoadError: the model cannot be assembled, or a load cannot act on it.
    """
    return prepared_for(model, start, solver).solve(model.cases)
