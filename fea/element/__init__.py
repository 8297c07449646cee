# SPDX-License-Identifier: MIT
"""Element kernels: arrays in, arrays out, many elements at once."""
