# SPDX-License-Identifier: MIT
"""The evidence behind a verdict: mesh, gates, loads, stresses, materials, measures."""

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from fea.assessment import Assessment
from fea.assumptions import is_own_step
from fea.check.capacity import strength_shares
from fea.check.factors import PartialFactor
from fea.check.readings import BarReading, ZoneReading
from fea.check.stability import FLAT
from fea.check.wording import percent_text, quantity_text
from fea.device.device import Device, StrapRivets
from fea.loadcase.instant import Provenance
from fea.material.library import LibraryMaterial, Property
from fea.mesh.mesh import triangle_geometry
from fea.reporting.asked import requirements_table
from fea.reporting.skin import skin_lines, skin_tables
from fea.reporting.table import Table, table
from fea.reporting.words import listed, place_text, plain, standing
from fea.solver.gates import Gate
from fea.stance import CaseResult

BUCKLING_WORDS = (
    "Each case’s loads grow until the device can give way sideways: walls and bars together, from "
    "the undeformed shape, on the contact between limb and device that the case has. The critical "
    "factor is what the mesh and the stiffness of the solve give; the check takes off the "
    "knock-down for imperfections and what scatter, warmth and creep take of the stiffness.")
_COUNTED = re.compile(
    r"(yield|tensile|shear|interlaminar_shear|bearing)_strength|(tensile|compressive|shear)_strength_\d+")
"""Strengths that checks count on, by the name of the property."""

Reading = TypeVar("Reading", ZoneReading, BarReading)


@dataclass(frozen=True)
class Part:
    """One heading of the evidence with what stands under it."""

    title: str
    lines: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()


def evidence(result: Assessment) -> tuple[Part, ...]:
    """All parts, in reading order."""
    return (
        Part("Mesh", (_energy_words(result),), ("mesh",), (_mesh_table(result),)),
        Part("Numerical gates", (
            "Every solution leaves through these gates; one that fails is refused and never "
            "shown as a number.",), tables=(_gates_table(result),)),
        Part("Loads", figures=("push",), tables=(
            *([_case_table("Load cases that the verdict rests on; force on the sole and centre of "
                           "pressure in the device’s frame.", result.cases)]
              if result.cases else []),
            *([_applied_table(result)] if result.applied else []),
            *([_case_table("The step, for charts and the knee.", result.step)]
              if result.step and not is_own_step(result.load_set, result.step_set) else []),
            _load_source_table(result))),
        Part("Stress", tables=(
            _shell_table(result), *([_bar_table(result)] if result.bars else []))),
        Part("Pressure on the skin", skin_lines(result), ("pressure",), skin_tables(result)),
        Part("Buckling", (BUCKLING_WORDS,), ("buckling",), (_buckling_table(result),)),
        Part("Materials, what is asked, and partial factors", tables=(
            _material_table(result), requirements_table(result.requirements),
            _factor_table(result))),
        Part("Wearer", tables=(_wearer_table(result),)),
        Part("Device", lines=(
            f"Origin: {result.device.origin.rstrip('.')}.", *result.device.notes)),
    )


def _mesh_table(result: Assessment) -> Table:
    device = result.device
    rows: list[tuple[object, ...]] = []
    for zone, wall in device.walls.items():
        cells = device.mesh.zone_cells(zone)
        area = triangle_geometry(device.mesh.points, cells)[0].sum()
        rows.append((plain(zone), "shell", len(cells), quantity_text(float(area)),
                     _range(np.atleast_1d(wall.thickness)) + " mm",
                     " with ".join(each.title for each in wall.materials)))
    for zone, bar in device.bars.items():
        cells = device.mesh.zone_cells(zone)
        rows.append((plain(zone), "bar", len(cells), None,
                     f"{bar.width:g} × {bar.depth:g} mm", bar.material.title))
    return table("Zones of the mesh: what they are made of.",
                 ["zone", "kind", ">cells", ">area, mm²", ">thickness or section", "material"],
                 rows)


def _energy_words(result: Assessment) -> str:
    """The energy error of the mesh in its worst case."""
    if not result.energy_error:
        return "No case was solved, so nothing is known of the error of the mesh."
    case, worst = max(result.energy_error.items(), key=lambda item: item[1])
    return (f"The cell means of the section forces are off by at most {percent_text(worst)} in the "
            f"energy norm (case {case}); this falls in proportion to the cell size.")


def _gates_table(result: Assessment) -> Table:
    worst: dict[str, tuple[str, Gate]] = {}
    solutions = {**result.run.solutions, **result.run.step}
    for case, solution in solutions.items():
        for gate in solution.gates:
            known = worst.get(gate.name)
            if known is None or (gate.value < known[1].value) == gate.at_least:
                worst[gate.name] = (case, gate)
    rows = [
        (plain(name), f"{gate.value:.2e}", ("at least " if gate.at_least else "at most ")
         + f"{gate.limit:g}", case, "✓ kept" if gate.passed else "✗ BROKEN")
        for name, (case, gate) in worst.items()
    ]
    return table(f"The worst value of each gate over {len(solutions)} solved cases.",
                 ["gate", ">value", ">limit", "case", "state"], rows)


def _case_table(caption: str, cases: Sequence[CaseResult]) -> Table:
    rows = [
        (f"{number}. {case.name}", None if case.percent is None else f"{case.percent:g}",
         *(f"{value:.0f}" for value in case.force),
         None if case.cop is None else f"{case.cop[0]:.0f}",
         f"{case.dorsiflexing_moment / 1000.0:.1f}",
         f"{math.degrees(case.ankle_rotation):.2f}", f"{case.max_deflection:.1f}",
         percent_text(max(case.utilisation.values())) if case.utilisation else None)
        for number, case in enumerate(cases, start=1)
    ]
    return table(
        caption + " Moment: external, dorsiflexing positive. Turn: of the ankle, dorsiflexion "
        "positive.",
        ["case", ">% of cycle", ">Fx, N", ">Fy, N", ">Fz, N", ">push ahead of axis, mm",
         ">moment, N·m", ">turn, °", ">deflection, mm", ">highest utilisation"], rows)


def _applied_table(result: Assessment) -> Table:
    rows = [
        (f"{case.name}: {case.title.removeprefix(case.name).lstrip(': ')}",
         None if case.percent is None else f"{case.percent:g}",
         f"{math.degrees(case.ankle_rotation):.2f}", f"{case.max_deflection:.1f}",
         percent_text(max(case.utilisation.values())) if case.utilisation else None)
        for case in result.applied
    ]
    return table(
        "Cases that the verdict rests on and that are no instant of stance: forces on the device "
        "itself, and bends forced on its plate. Turn: of the ankle, dorsiflexion positive.",
        ["case", ">% of cycle", ">turn, °", ">deflection, mm", ">highest utilisation"], rows)


def _load_source_table(result: Assessment) -> Table:
    """Where the numbers of the load set come from; cases that agree share a row."""
    instants: dict[tuple[str, Provenance], list[str]] = {}
    for case in result.load_set.cases:
        for name, item in case.provenance.items():
            instants.setdefault((name, item), []).append(case.name)
    total = len(result.load_set.cases)
    rows = [
        (plain(name), "all cases" if len(names) == total else listed(names),
         standing(item.status), item.source, item.note)
        for (name, item), names in instants.items()
    ]
    return table(
        f"Where the numbers of the load set “{result.load_set.title}” come from. Forces are in "
        "body weights, places in foot lengths.",
        ["number", "case", "standing", "source", "note"], rows)


def _shell_table(result: Assessment) -> Table:
    rows: list[tuple[object, ...]] = [
        (plain(item.zone), quantity_text(item.mises_top), quantity_text(item.mises_middle),
         quantity_text(item.mises_bottom), quantity_text(item.error), item.case,
         place_text(item.place, result.device.side))
        for item in _worst(result.zones, lambda item: max(item.mises_top, item.mises_bottom))
    ]
    read = {item.zone for item in result.zones}
    rows += [(plain(zone), None, None, None, None, "left out as a whole, see Checks", None)
             for zone in result.device.walls if zone not in read and result.zones]
    return table(
        "Equivalent (von Mises) stress of the shell zones in their hardest case, MPa, recovered at "
        "the corners of the cells outside the places where stress does not converge, which are "
        "judged by themselves as local peaks or not at all, see Checks; and the estimated error of "
        "the largest, which is not added to it. A reading, not the verdict; what is allowed "
        "depends on the material, see Checks.",
        ["zone", ">top", ">middle", ">bottom", ">± error", "case", "place"], rows)


def _bar_table(result: Assessment) -> Table:
    rows = [
        (plain(item.zone), quantity_text(item.fibre_stress), quantity_text(item.forces[0]),
         quantity_text(item.forces[4] / 1000.0), quantity_text(item.forces[5] / 1000.0),
         item.case, place_text(item.place, result.device.side))
        for item in _worst(result.bars, lambda item: abs(item.fibre_stress))
    ]
    return table("Bars in their hardest case: axial stress of the extreme fibre, tension positive, "
                 "and the largest forces in either direction.",
                 ["bar", ">fibre stress, MPa", ">axial force, N", ">moment y, N·m",
                  ">moment z, N·m", "case", "place"], rows)


def _buckling_table(result: Assessment) -> Table:
    proofs = {True: "proved by count", None: "unproved", False: "a lower one was MISSED"}
    rows = []
    for item in result.buckles:
        ratio = item.slenderness
        curved = "bar" if ratio is None else "flat" if ratio > FLAT else quantity_text(ratio)
        rows.append((item.case, None if item.factor is None else f"{item.factor:.2f}",
                     None if item.factor is None else proofs[item.proved],
                     plain(item.zone), place_text(item.place, result.device.side),
                     None if item.place is None else curved))
    return table("Critical factor of each load case, and where its shape strains the device "
                 "hardest; R/t is the radius of curvature over the wall there.",
                 ["case", ">critical factor", "no lower one", "zone", "place", ">R/t"], rows)


def _worst(items: Sequence[Reading], size: Callable[[Reading], float]) -> list[Reading]:
    """The item of largest size in each zone, in order of the zones."""
    worst: dict[str, Reading] = {}
    for item in items:
        if item.zone not in worst or size(item) > size(worst[item.zone]):
            worst[item.zone] = item
    return list(worst.values())


def _materials(device: Device) -> tuple[LibraryMaterial, ...]:
    """Of walls and bars, of rivets and screws, and of the rivets of straps."""
    used = list(device.materials)
    used += [each.material for each in device.fastenings if each.material is not None]
    used += [strap.fixing.material for strap in device.straps
             if isinstance(strap.fixing, StrapRivets)]  # fmt: skip
    return tuple({material.name: material for material in used}.values())


def _material_table(result: Assessment) -> Table:
    rows = []
    for material in _materials(result.device):
        for name, item in sorted(material.properties.items()):
            rows.append((f"{item.title or material.title}: {_property_words(name)}",
                         f"{_number(item.value)} {_unit(item.unit)}", _limits(item),
                         standing(item.status), item.source, item.note))
    return table(
        "Every number of the materials used, with its standing: read in its source, derived from "
        "read numbers, from memory with high (H), medium (M) or low (L) confidence, common "
        "practice, or assumed.",
        ["property", ">value", ">range", "standing", "source", "note"], rows)


def _factor_table(result: Assessment) -> Table:
    materials = _materials(result.device)
    enters = {"strength": "divides the strength", "required": "multiplies the required factor",
              "stability": "multiplies the required factor of buckling",
              "life": "divides the fatigue strength", "elsewhere": "is contained elsewhere"}
    rows = []
    for effect, row in result.factors.table.items():
        for material in materials:
            part = row[material.kind]
            for value, source, status, words in _counted(result, material, part):
                told = ". ".join(filter(None, [part.meaning.rstrip("."), words]))
                rows.append((f"{plain(effect)}, {material.title}", f"{value:.2f}",
                             enters[part.applies], standing(status), source, told))
    return table("Partial factors as counted here: one effect each, each effect once. A number of "
                 "the material library stands before a general one, and a requirements file before "
                 "both.",
                 ["effect and material", ">factor", "how it enters", "standing", "source",
                  "what it covers"], rows)


def _counted(
    result: Assessment, material: LibraryMaterial, part: PartialFactor
) -> list[tuple[float, str, str, str]]:
    """Value, source, standing and words of a factor, from the library where that knows better.

    Strengths of one material may be known at other temperatures, or with other scatter, so each
    value that counts has a row, with the strengths that it is of.
    """
    general = (part.value, part.source, part.status, part.note)
    strengths = [name for name in material.properties if _COUNTED.fullmatch(name)]
    if part.applies != "strength" or not strengths:
        return [general]
    found: dict[tuple[float, str, str, str], list[str]] = {}
    for name in strengths:
        share = strength_shares(
            material.properties[name], name, material, result.factors)[part.effect]
        words = "" if (share.source, share.status) == (part.source, part.status) else share.words
        found.setdefault((1.0 / share.value, share.source, share.status, words), []).append(name)
    if set(found) == {(*general[:3], "")}:
        return [general]
    return [(*key[:3], f"Here, of {', '.join(map(plain, names))}: {key[3] or part.note}")
            for key, names in found.items()]


def _wearer_table(result: Assessment) -> Table:
    rows = [
        (plain(name.rpartition("_")[0]), f"{item.value:.4g} {item.unit}",
         "estimated" if item.estimated else "measured", item.source if item.estimated else None,
         item.note)
        for name, item in result.wearer.measures.items()
    ]
    return table("Measures of the wearer; what nobody measured is estimated.",
                 ["measure", ">value", "standing", "source", "note"], rows)


def _range(values: np.ndarray) -> str:
    low, high = float(values.min()), float(values.max())
    return f"{low:.3g}" if high - low < 1e-9 else f"{low:.3g} to {high:.3g}"


def _limits(item: Property) -> str | None:
    if item.low is None and item.high is None:
        return None
    ends = (item.value if end is None else end for end in (item.low, item.high))
    return " to ".join(map(_number, ends))


def _unit(unit: str) -> str:
    return "" if unit == "1" else unit


def _number(value: float) -> str:
    """Four digits, without an exponent for common sizes.

    Example:
        >>> _number(72000.0), _number(0.33), _number(2.81e-6)
        ('72000', '0.33', '2.81e-06')
    """
    if 1e-4 <= abs(value) < 1e7:
        return str(np.format_float_positional(value, 4, fractional=False, trim="-"))
    return f"{value:.4g}"


def _property_words(name: str) -> str:
    return plain(name).replace("youngs", "Young’s").replace("poisson", "Poisson’s")
