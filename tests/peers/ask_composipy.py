# SPDX-License-Identifier: MIT
"""Laminates in composipy: stiffness, and ply stresses under section forces.

    python tests/peers/ask_composipy.py QUESTIONS.json ANSWERS.json
"""

import json
import sys
from pathlib import Path

try:
    from composipy import LaminateProperty, LaminateStrength, OrthotropicMaterial
except ImportError as error:
    sys.exit((sys.stderr.write(f"composipy does not load: {error}\n"), 3)[1])


def solve(question: dict) -> dict:
    """ABD, strains and curvatures, and the table of ply stresses as it comes."""
    e1, e2, nu12, g12 = question["ply"][:4]
    plies = [OrthotropicMaterial(e1, e2, nu12, g12, t) for t in question["thicknesses"]]
    wall = LaminateProperty(question["angles_deg"], plies)
    names = ("Nxx", "Nyy", "Nxy", "Mxx", "Myy", "Mxy")
    strength = LaminateStrength(wall, **dict(zip(names, question["forces"], strict=True)))
    return {
        "abd": wall.ABD.tolist(),
        "strain": [float(value) for value in strength.epsilon0().ravel()],
        "table": strength.calculate_stress().to_dict("records"),
    }


if __name__ == "__main__":
    asked, answered = map(Path, sys.argv[1:])
    answered.write_text(json.dumps([solve(one) for one in json.loads(asked.read_text())]))
