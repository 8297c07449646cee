# SPDX-License-Identifier: MIT
"""A structure ready for cases: sections, supports, ties, beds, bodies and loads."""
