# SPDX-License-Identifier: MIT
"""Judging: the Check value, partial factors, and one topic a file."""
