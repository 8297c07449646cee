# SPDX-License-Identifier: MIT
"""Devices: one fixed geometry, parametric recipes, and the device file reader."""
