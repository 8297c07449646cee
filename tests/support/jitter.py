# SPDX-License-Identifier: MIT
"""Irregular meshes for the validation cases: one way to disturb nodes, with a fixed seed."""

import numpy as np

STRUCTURED = {"diagonal": "alternate"}
# A cell whose nodes move by more than a quarter of its size may fold over.
JITTERED = {"diagonal": "random", "jitter": 0.25, "slide": True}
BOTH = {"structured": STRUCTURED, "jittered": JITTERED}
"""Arguments of `small_models.grid` for the two meshes that each case is solved on."""


def moves(u, v, cell, fraction, *, keep=(), joined=False, seed=1):
    """Moves (m, 2) of nodes u, v (m,) of the unit square by up to a fraction of their cell.

    Args:
        cell: size of a cell along u and v.
        keep: points (u, v) whose nodes stay, beside the four corners.
        joined: the sides u = 0 and u = 1 are one line, as of a tube: its nodes move alike.

    Inner nodes move both ways, nodes of a side only along it, so the rim keeps its form.
    """
    move = fraction * np.random.default_rng(seed).uniform(-1, 1, (len(u), 2)) * cell
    if joined:
        move[u == 1] = move[u == 0]
    else:
        move[(u == 0) | (u == 1), 0] = 0.0
    move[(v == 0) | (v == 1), 1] = 0.0
    for point in keep:
        move[np.hypot(u - point[0], v - point[1]) < 1e-9] = 0.0
    return move
