# SPDX-License-Identifier: MIT
"""The model: a structure and its load cases, checked for completeness when it is made."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from fea.errors import ModelError
from fea.mesh.mesh import Mesh
from fea.mesh.solid import facing_outward
from fea.structure.coupling import Bed, Body, Spring, Strap, Support, Tie
from fea.structure.loads import EdgeForce, Load, PatchForce, PointForce
from fea.structure.sections import Section, ShellSection, SolidSection, StrutSection

_KIND_OF_SECTION = {ShellSection: "triangle", StrutSection: "line", SolidSection: "tetra10"}


@dataclass(frozen=True, eq=False)
class Structure:
    """Mesh, sections, supports, ties, beds and bodies: everything that the cases share.

    Raises:
        ModelError: zones of `sections` that do not partition all cells; a section of the wrong
            kind for its zone; names that do not exist or are used twice.
        MeshError: an unknown zone or place.
    """

    mesh: Mesh
    sections: Mapping[str, Section]
    supports: Sequence[Support] = ()
    ties: Sequence[Tie] = ()
    beds: Sequence[Bed] = ()
    bodies: Sequence[Body] = ()
    straps: Sequence[Strap] = ()
    springs: Sequence[Spring] = ()
    body_index: Mapping[str, int] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        index = {body.name: number for number, body in enumerate(self.bodies)}
        object.__setattr__(self, "body_index", index)
        self._check_sections()
        self._check_bodies()
        for place in (held.place for each in (self.supports, self.springs) for held in each):
            if place not in index:
                self.mesh.place(place)
        for tie in self.ties:
            if len(self.mesh.place(tie.place)) != 1:
                raise ModelError(f"tie: place '{tie.place}' must hold one node")
            if np.isin(self.mesh.place(tie.place), self.mesh.place(tie.patch)).any():
                raise ModelError(f"tie: '{tie.place}' lies in its own patch '{tie.patch}'")
        for bed in self.beds:
            if self.mesh.zone(bed.zone)[0] != "triangle":
                raise ModelError(f"bed: zone '{bed.zone}' must be made of triangles")
            if bed.body is not None and bed.body not in index:
                raise ModelError(f"bed of '{bed.zone}': there is no body '{bed.body}'")
        for strap in self.straps:
            for place in strap.ends:
                self.mesh.place(place)
            if strap.body not in index:
                raise ModelError(f"strap '{strap.name}': there is no body '{strap.body}'")

    def with_cases(self, cases: Mapping[str, Sequence[Load]]) -> "Model":
        """The model of this structure under these load cases."""
        return Model(
            self.mesh, self.sections, self.supports, cases, self.ties, self.beds, self.bodies,
            self.straps, self.springs,
        )  # fmt: skip

    def with_sections(self, sections: Mapping[str, Section]) -> "Structure":
        """The same structure with other sections in some of its zones."""
        for zone in sections:
            if zone not in self.sections:
                known = ", ".join(f"'{name}'" for name in self.sections)
                raise ModelError(f"zone '{zone}' has no section to replace; name one of {known}")
        return Structure(
            self.mesh, {**self.sections, **sections}, self.supports, self.ties, self.beds,
            self.bodies, self.straps, self.springs,
        )  # fmt: skip

    def is_made_of(self, other: "Structure") -> bool:
        """Whether this structure has the very mesh and sections of another, held alike."""
        return (
            self.mesh is other.mesh
            and self.sections.keys() == other.sections.keys()
            and all(section is other.sections[zone] for zone, section in self.sections.items())
            and all(
                tuple(getattr(self, name)) == tuple(getattr(other, name))
                for name in ("supports", "ties", "beds", "bodies", "straps", "springs")
            )
        )

    def zone_of(self, kind: str, cell: int) -> tuple[str, int]:
        """Zone with a section that holds a cell of a kind, and the cell's place in its order."""
        for name in self.sections:
            zone_kind, numbers = self.mesh.zone(name)
            if zone_kind == kind and (found := np.flatnonzero(numbers == cell)).size:
                return name, int(found[0])
        return "?", cell

    def _check_sections(self) -> None:
        if "triangle6" in self.mesh.cells:
            facing_outward(self.mesh.table("triangle6"), self.mesh.table("tetra10"))
        covered = {
            kind: np.zeros(len(cells), dtype=int)
            for kind, cells in self.mesh.cells.items()
            if kind != "triangle6"
        }
        for name, section in self.sections.items():
            kind, numbers = self.mesh.zone(name)
            wanted = _KIND_OF_SECTION.get(type(section))
            if wanted != kind:
                raise ModelError(
                    f"zone '{name}' is made of {kind} cells and has a {type(section).__name__}; "
                    "triangles take a ShellSection, lines a StrutSection, tetra10 a SolidSection"
                )
            covered[kind][numbers] += 1
        for kind, count in covered.items():
            for wrong, what in ((count == 0, "no section"), (count > 1, "more than one section")):
                if wrong.any():
                    raise ModelError(
                        f"{int(wrong.sum())} {kind} cells have {what}, the first is cell "
                        f"{int(np.flatnonzero(wrong)[0])}; the zones named in sections must "
                        "cover each cell once"
                    )

    def _check_bodies(self) -> None:
        if len(self.body_index) != len(self.bodies):
            raise ModelError("two bodies have the same name")
        for body in self.bodies:
            if body.name in self.mesh.places:
                raise ModelError(f"body '{body.name}' has the name of a place; rename one of them")
            if body.joined_to is not None and body.joined_to not in self.body_index:
                raise ModelError(f"body '{body.name}': there is no body '{body.joined_to}'")


@dataclass(frozen=True, eq=False)
class Model(Structure):
    """A structure and its load cases.

    Args:
        mesh: the mesh.
        sections: zone name to section; these zones must partition all cells, but for the faces of
            solids (triangle6), which carry loads and take no section.
        supports: held places and bodies.
        cases: case name to its loads.
        ties, beds, bodies, straps, springs: see `fea.structure.coupling`.

    Example:
        >>> import fea
        >>> mesh = fea.Mesh([[0, 0, 0], [100, 0, 0]], {"line": [[0, 1]]},
        ...                 places={"root": [0], "tip": [1]}, zones={"bar": ("line", [0])})
        >>> steel = fea.Isotropic(youngs_modulus=200e3, poisson_ratio=0.3)
        >>> bar = fea.StrutSection.rectangle(steel, width=10.0, depth=2.0, up=(0, 0, 1))
        >>> model = fea.Model(mesh, sections={"bar": bar},
        ...                   supports=[fea.Support("root", "ux uy uz rx ry rz")],
        ...                   cases={"tip load": [fea.PointForce("tip", (0, 0, -1.0))]})
        >>> deflection = float(fea.solve(model)["tip load"].displacement[1, 2])
        >>> round(deflection, 5)  # −F L³/3EI − F L/(GA 5/6)
        -0.01008
    """

    cases: Mapping[str, Sequence[Load]] = field(default_factory=dict)

    def __init__(
        self,
        mesh: Mesh,
        sections: Mapping[str, Section],
        supports: Sequence[Support],
        cases: Mapping[str, Sequence[Load]],
        ties: Sequence[Tie] = (),
        beds: Sequence[Bed] = (),
        bodies: Sequence[Body] = (),
        straps: Sequence[Strap] = (),
        springs: Sequence[Spring] = (),
    ):
        for name, value in (
            ("mesh", mesh),
            ("sections", dict(sections)),
            ("supports", tuple(supports)),
            ("cases", {case: tuple(loads) for case, loads in cases.items()}),
            ("ties", tuple(ties)),
            ("beds", tuple(beds)),
            ("bodies", tuple(bodies)),
            ("straps", tuple(straps)),
            ("springs", tuple(springs)),
        ):
            object.__setattr__(self, name, value)
        self.__post_init__()
        if not self.cases:
            raise ModelError("a model needs at least one load case")
        for case, loads in self.cases.items():
            for load in loads:
                self._check_load(case, load)

    def _check_load(self, case: str, load: Load) -> None:
        match load:
            case PointForce(place):
                if place not in self.body_index:
                    self.mesh.place(place)
            case EdgeForce(place):
                self.mesh.place(place)
            case PatchForce(zones):
                for zone in zones:
                    self.mesh.zone(zone)
            case _:
                self.mesh.zone(load.zone)
        for name, value in vars(load).items():
            if name in ("place", "zone", "zones") or value is None:
                continue
            if not np.all(np.isfinite(np.asarray(value, dtype=float))):
                raise ModelError(f"case '{case}': {type(load).__name__} has {name} {value}")
