# SPDX-License-Identifier: MIT
"""A picture of a page as a file, such as for the README.

    python tests/support/page_picture.py PAGE.html FIGURE FILE.png
"""

import base64
import re
import sys
from pathlib import Path


def picture(page: str, figure: str) -> bytes:
    """The PNG of a figure, by its id on the page.

    >>> picture('<figure id="a"><img src="data:image/png;base64,QUI=" alt="">', "a")
    b'AB'
    """
    pattern = rf'<figure id="{re.escape(figure)}">\s*<img src="data:image/png;base64,([^"]+)"'
    found = re.search(pattern, page)
    if found is None:
        raise SystemExit(f"the page has no picture '{figure}'")
    return base64.b64decode(found[1])


def main(page: str, figure: str, out: str) -> None:
    """Write a figure of a page as a file."""
    Path(out).write_bytes(picture(Path(page).read_text(encoding="utf-8"), figure))


if __name__ == "__main__":
    main(*sys.argv[1:])
