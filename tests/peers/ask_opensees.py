# SPDX-License-Identifier: MIT
"""A model of triangles and struts in OpenSees; which triangle, the question may say.

    python tests/peers/ask_opensees.py QUESTION.json ANSWER.json
"""

import json
import sys
from pathlib import Path

try:
    import openseespy.opensees as ops
except (ImportError, RuntimeError) as error:
    sys.exit((sys.stderr.write(f"openseespy does not load: {error}\n"), 3)[1])


def build(question: dict) -> list[int]:
    """Fill the domain; the numbers of the struts."""
    ops.wipe()
    ops.model("basic", "-ndm", 3, "-ndf", 6)
    for number, point in enumerate(question["points"]):
        ops.node(number, *point)
    tag, triangle = 0, question.get("triangle", "ShellDKGT")
    for number, wall in enumerate(question["shells"], start=1):
        if "angles_deg" in wall:
            raise ValueError("laminates are not asked of OpenSees")
        ops.section("ElasticMembranePlateSection", number, wall["youngs_modulus"],
                    wall["poisson_ratio"], wall["thickness"], 0.0)  # fmt: skip
        for cell in wall["triangles"]:
            tag += 1
            ops.element(triangle, tag, *cell, number)
    first_strut = tag + 1
    for number, bar in enumerate(question["struts"], start=1):
        offsets = ["-jntOffset", *bar["offset_start"], *bar["offset_end"]]
        ops.geomTransf("Linear", number, *bar["up"], *offsets)
        stiff = [bar[key] for key in ("youngs_modulus", "shear_modulus", "j", "i_y", "i_z")]
        for cell in bar["lines"]:
            tag += 1
            if bar["shear_area_y"] is None:
                ops.element("elasticBeamColumn", tag, *cell, bar["area"], *stiff, number)
            else:  # this one takes no notice of the offsets
                ops.element("ElasticTimoshenkoBeam", tag, *cell, *stiff[:2], bar["area"],
                            *stiff[2:], bar["shear_area_y"], bar["shear_area_z"], number)
    return list(range(first_strut, tag + 1))


def solve(question: dict) -> dict:
    """Displacements of the nodes, and the end forces of the struts in their local axes."""
    struts = build(question)
    held: dict[int, list[int]] = {}
    for node, dof in question["held"]:
        held.setdefault(node, [0] * 6)[dof] = 1
    for node, dofs in held.items():
        ops.fix(node, *dofs)
    ops.timeSeries("Linear", 1)
    ops.pattern("Plain", 1, 1)
    for node, force in enumerate(question["forces"]):
        if any(force):
            ops.load(node, *force)
    ops.constraints("Plain")
    ops.numberer("RCM")
    ops.system("UmfPack")
    ops.integrator("LoadControl", 1.0)
    ops.algorithm("Linear")
    ops.analysis("Static")
    if ops.analyze(1) != 0:
        raise RuntimeError("the analysis failed")
    nodes = range(len(question["points"]))
    return {"displacement": [ops.nodeDisp(node) for node in nodes],
            "strut_ends": [ops.eleResponse(tag, "localForce") for tag in struts]}  # fmt: skip


if __name__ == "__main__":
    asked, answered = map(Path, sys.argv[1:])
    answered.write_text(json.dumps(solve(json.loads(asked.read_text()))))
