# SPDX-License-Identifier: MIT
"""Fatigue in pylife: cycles to failure, mean stress, damage and rainflow.

    python tests/peers/ask_pylife.py QUESTIONS.json ANSWERS.json
"""

import json
import sys
from pathlib import Path

import numpy as np

try:
    import pandas as pd
    import pylife.materiallaws.woehlercurve
    import pylife.strength.fatigue  # noqa: F401
    from pylife.strength.meanstress import fkm_goodman
    from pylife.stress.collective import LoadCollective  # noqa: F401
    from pylife.stress.rainflow import FourPointDetector, FullRecorder
except ImportError as error:
    sys.exit((sys.stderr.write(f"pylife does not load: {error}\n"), 3)[1])


def solve(question: dict) -> dict:
    """Answers to what the question holds."""
    answer = {}
    if "line" in question:
        line = pd.Series(question["line"])
        loads = np.array(question["loads"])
        answer["straight"] = line.woehler.miner_elementary().cycles(loads).tolist()
        answer["knee"] = line.woehler.miner_haibach().cycles(loads).tolist()
        collective = pd.DataFrame(
            {"range": 2.0 * loads, "mean": 0.0 * loads, "cycles": question["counts"]}
        )
        damage = line.woehler.miner_haibach().to_pandas().fatigue.damage(collective.load_collective)
        answer["damage"] = float(damage.sum())
    if "sensitivity" in question:
        share = question["sensitivity"]
        amplitude, mean = np.array(question["amplitude"]), np.array(question["mean"])
        answer["reversed"] = fkm_goodman(amplitude, mean, share, share, -1.0).tolist()
    if "series" in question:
        recorder = FullRecorder()
        detector = FourPointDetector(recorder=recorder)
        closed = []
        for _ in range(4):  # from the third pass on each closes what one repeat holds
            before = len(closed)
            detector.process(np.array(question["series"], dtype=float))
            pairs = zip(recorder.values_from, recorder.values_to, strict=True)
            closed = [abs(float(a) - float(b)) for a, b in pairs]
        answer["closed"] = sorted(closed[before:])
    return answer


if __name__ == "__main__":
    asked, answered = map(Path, sys.argv[1:])
    answered.write_text(json.dumps([solve(one) for one in json.loads(asked.read_text())]))
