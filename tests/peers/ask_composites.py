# SPDX-License-Identifier: MIT
"""Laminates in composites: stiffness, and transverse shear after Rohwer and Whitney.

    python tests/peers/ask_composites.py QUESTIONS.json ANSWERS.json
"""

import json
import sys
from pathlib import Path

try:
    from composites.utils import laminated_plate
except ImportError as error:
    sys.exit((sys.stderr.write(f"composites does not load: {error}\n"), 3)[1])


def solve(question: dict) -> dict:
    """ABD, shear stiffness 13 and 23 by two theories, shear stresses 13 and 23 at the heights."""
    rohwer, whitney = (
        laminated_plate(question["angles_deg"], plyts=question["thicknesses"],
                        laminaprop=tuple(question["ply"]), shear_correction=name)
        for name in ("rohwer", "whitney")
    )  # fmt: skip
    q13, q23 = question["shear_force"]
    heights = question["heights"]
    return {
        "abd": rohwer.ABD.tolist(),
        "rohwer": [rohwer.A55, rohwer.A44],
        "whitney": [whitney.A55, whitney.A44],
        "shear_stress": [rohwer.calc_transverse_shear_stress(z, q23, q13)[::-1] for z in heights],
    }


if __name__ == "__main__":
    asked, answered = map(Path, sys.argv[1:])
    answered.write_text(json.dumps([solve(one) for one in json.loads(asked.read_text())]))
