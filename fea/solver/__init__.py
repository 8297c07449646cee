# SPDX-License-Identifier: MIT
"""From a model to a solution: assembly, factorisation, contact, recovery and the gates."""
