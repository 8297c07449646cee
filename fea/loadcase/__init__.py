# SPDX-License-Identifier: MIT
"""Load cases: instants of stance, and the ground reaction each puts on the device."""
