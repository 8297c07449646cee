# SPDX-License-Identifier: MIT
"""The mesh: its values, reading and writing, repair and quality."""
