# SPDX-License-Identifier: MIT
"""The README's picture: how hard each part of a shipped device works.

    python tests/support/readme_picture.py DEVICE WEARER FILE.png
"""

import sys
from pathlib import Path

import fea
from fea.reporting.figures import draw_figures
from fea.shipped import resolve


def main(device: str, wearer: str, out: str) -> None:
    """Judge the device, and write the report's first picture as a file."""
    result = fea.assess(fea.read_device(device), fea.read_wearer(resolve("wearers", wearer)))
    Path(out).write_bytes(draw_figures(result).figures["hardest-today"].content)


if __name__ == "__main__":
    main(*sys.argv[1:])
