# SPDX-License-Identifier: MIT
"""The report: one page for people, summaries for programs, fields for viewers."""

from fea.reporting.writing import ReportPaths, report

__all__ = ["ReportPaths", "report"]
