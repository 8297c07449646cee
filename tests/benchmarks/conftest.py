# SPDX-License-Identifier: MIT
"""Benchmarks are scripts; only what runs them small is a test."""

collect_ignore_glob = ["bench_*.py", "roof.py", "report.py"]
