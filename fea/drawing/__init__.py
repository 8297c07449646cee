# SPDX-License-Identifier: MIT
"""Pictures and charts from plain arrays; knows nothing of devices, cases or checks."""
