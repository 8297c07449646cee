# SPDX-License-Identifier: MIT
"""The published schemas of `summary.json`, `compare.json` and `chance.json`.

Run as ``python -m fea.reporting.schema FILE``, where the name of the file says which:
``summary-schema.json``, ``compare-schema.json`` or ``chance-schema.json``.
"""

import json
import sys
from pathlib import Path

from fea.inputfile import Schema
from fea.reporting.chancing import ChanceFile
from fea.reporting.comparesummary import CompareSummary
from fea.reporting.summary import Summary

SCHEMAS: dict[str, type[Schema]] = {
    "summary-schema.json": Summary,
    "compare-schema.json": CompareSummary,
    "chance-schema.json": ChanceFile,
}


def schema_text(name: str) -> str:
    """The JSON schema of a file that is published under a name of `SCHEMAS`, as text."""
    return json.dumps(SCHEMAS[name].model_json_schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    path = Path(sys.argv[1])
    path.write_text(schema_text(path.name), encoding="utf-8")
