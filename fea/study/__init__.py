# SPDX-License-Identifier: MIT
"""Studies that repeat an assessment: what becomes of its numbers on finer meshes."""
