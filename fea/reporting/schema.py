# SPDX-License-Identifier: MIT
"""The published schema of `summary.json`; run as ``python -m fea.reporting.schema FILE``."""

import json
import sys
from pathlib import Path

from fea.reporting.summary import Summary


def schema_text() -> str:
    """The JSON schema of a summary, as text."""
    return json.dumps(Summary.model_json_schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(schema_text(), encoding="utf-8")
