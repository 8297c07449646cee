# SPDX-License-Identifier: MIT
"""Comparing assessments: before and after, sweeps, refinement."""
