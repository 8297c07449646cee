# SPDX-License-Identifier: MIT
"""Every exception that Stanchion raises on purpose.

    StanchionError
    ├── InputError            the user's input is unusable: value, place and cure in the message
    │   ├── FileError         one input file, with every problem found in it
    │   ├── MeshError         points, cells, places or zones
    │   ├── MaterialError     a constant outside its physical range, or missing
    │   ├── WearerError       measures that no person has
    │   ├── DeviceError       a device that cannot be built or judged
    │   ├── LoadError         a load that cannot act on this device
    │   └── ModelError        sections, supports, ties, beds or cases that do not fit the mesh
    ├── SolveError            the equations have no trustworthy answer
    │   ├── UnsupportedError  a part can move freely, or a mechanism remains
    │   └── GateError         an answer was computed and refused: residual, balance, finite numbers
    └── MissingExtraError     an optional dependency is needed and not installed

User mistakes always raise one of these; `assert` is for invariants of our own code only.
"""

from collections.abc import Sequence
from dataclasses import dataclass


class StanchionError(Exception):
    """Base of all exceptions raised on purpose; catch this one at a door."""


class InputError(StanchionError, ValueError):
    """The input is unusable. The message names the value, the place and the cure."""


class MeshError(InputError):
    """Points, cells, places or zones that do not form a usable mesh."""


class MaterialError(InputError):
    """A material constant outside its physical range, or missing."""


class WearerError(InputError):
    """A measure that no person has, or measures that contradict each other."""


class DeviceError(InputError):
    """A device that cannot be built, or not be judged as it stands."""


class LoadError(InputError):
    """A load that cannot act on this device, such as a centre of pressure beyond the plate."""


class ModelError(InputError):
    """Sections, supports, ties, beds or cases that do not fit the mesh."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong in an input file: where (a dotted path or line) and what, with the cure."""

    where: str
    what: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what}" if self.where else self.what


class FileError(InputError):
    """An input file with one or more problems; all of them are reported at once."""

    def __init__(self, path: object, problems: Sequence[Problem]):
        self.path = str(path)
        self.problems = tuple(problems)
        if len(self.problems) == 1:
            message = f"{self.path}: {self.problems[0]}"
        else:
            lines = "".join(f"\n  - {problem}" for problem in self.problems)
            message = f"{self.path}: {len(self.problems)} problems{lines}"
        super().__init__(message)


class SolveError(StanchionError, ArithmeticError):
    """The equations have no answer that can be trusted; no number leaves."""


class UnsupportedError(SolveError):
    """A part can move without strain: it is unsupported, or a mechanism remains."""


class GateError(SolveError):
    """An answer was computed and refused by a gate: residual, balance or finite numbers."""


class MissingExtraError(StanchionError, ImportError):
    """An optional dependency is needed; the message names the extra to install."""
