# SPDX-License-Identifier: MIT
"""The inks of pictures and charts; each text ink has a contrast of 4.5 or more on white."""

INK = "#1d2429"
FAINT_INK = "#5c666d"
RULE = "#c9ced1"
PLAIN = "#d9dcd8"
NO_VALUE = "#ffffff"
BEYOND = "#b3261e"
MARKS = ("#f0c36d", "#d9822b")  # light to dark; the second is netted too
SERIES = ("#1f4e79", "#a8480f", "#3d6b35", "#6b3f82", "#6e5a00", "#7a2f4c")


def rgb(colour: str) -> tuple[int, int, int]:
    """Red, green and blue, 0 to 255, of a colour.

    Example:
        >>> rgb("#1d2429")
        (29, 36, 41)
    """
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
