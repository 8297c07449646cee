# SPDX-License-Identifier: MIT
"""Colour by value: equal bands of a perceptually uniform scale, light for low, dark for high.

The scale is a path through the OKLab colour space, from pale straw through teal to ink blue,
walked in equal steps of colour difference; its lightness falls all the way, so that it also
reads without colour. Source: oklab.
"""

import numpy as np
from matplotlib.colors import ListedColormap
from numpy.typing import NDArray

from fea.drawing.inks import BEYOND, NO_VALUE, PLAIN, rgb
from fea.drawing.picture import Scale

# Lightness, chroma and hue (degrees) of the way points.
PATH = np.array([[0.955, 0.045, 105.0], [0.74, 0.095, 178.0], [0.28, 0.105, 272.0]])
TO_LMS = np.array([[1.0, 0.3963377774, 0.2158037573],
                   [1.0, -0.1055613458, -0.0638541728],
                   [1.0, -0.0894841775, -1.2914855480]])
TO_LINEAR_RGB = np.array([[4.0767416621, -3.3077115913, 0.2309699292],
                          [-1.2684380046, 2.6097574011, -0.3413193965],
                          [-0.0041960863, -0.7034186147, 1.7076147010]])


def band_map(scale: Scale) -> ListedColormap:
    """The scale's colours, one per band."""
    return ListedColormap(shades(scale.bands) / 255.0, over=BEYOND, bad=NO_VALUE)


def band_colours(values: NDArray[np.float64], scale: Scale) -> NDArray[np.uint8]:
    """RGB colours (k, 3) of values (k,); a value on a border belongs to the band below it.

    A value above `scale.limit` takes the colour beyond the scale, one above `high` without a
    limit the last band; NaN takes the colour for "no value".

    Example:
        >>> scale = Scale("utilisation, %", 0.0, 1.0, limit=1.0)
        >>> colours = band_colours(np.array([0.0, 1.0, 1.001, np.nan]), scale)
        >>> ["#%02x%02x%02x" % tuple(row) for row in colours[2:]]
        ['#b3261e', '#ffffff']
    """
    known = ~np.isnan(values)
    position = np.ceil((values - scale.low) / (scale.high - scale.low) * scale.bands) - 1.0
    band = np.clip(np.where(known, position, 0.0), 0, scale.bands - 1).astype(int)
    colours = shades(scale.bands)[band]
    if scale.limit is not None:
        colours[known & (values > scale.limit)] = rgb(BEYOND)
    colours[~known] = rgb(NO_VALUE)
    return colours


def plain_colours(count: int, colour: str = PLAIN) -> NDArray[np.uint8]:
    """The same RGB colour (count, 3) for every cell."""
    return np.tile(np.array(rgb(colour), dtype=np.uint8), (count, 1))


def shades(count: int) -> NDArray[np.uint8]:
    """RGB (count, 3) of `count` equally different colours along the scale."""
    fine = np.linspace(0.0, len(PATH) - 1.0, 400)
    lightness, chroma, hue = (np.interp(fine, range(len(PATH)), PATH[:, k]) for k in range(3))
    angle = np.radians(hue)
    lab = np.column_stack([lightness, chroma * np.cos(angle), chroma * np.sin(angle)])
    walked = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(lab, axis=0), axis=1))])
    stops = np.linspace(0.0, walked[-1], count)
    even = np.column_stack([np.interp(stops, walked, lab[:, k]) for k in range(3)])
    return _from_oklab(even)


def _from_oklab(lab: NDArray[np.float64]) -> NDArray[np.uint8]:
    linear = np.clip((lab @ TO_LMS.T) ** 3 @ TO_LINEAR_RGB.T, 0.0, 1.0)
    curved = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return np.round(255.0 * curved).astype(np.uint8)
