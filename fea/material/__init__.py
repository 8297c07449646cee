# SPDX-License-Identifier: MIT
"""Isotropic materials, plies, laminates, ply criteria, and the material library."""
