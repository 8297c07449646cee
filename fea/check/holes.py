# SPDX-License-Identifier: MIT
"""What a hole does to the wall or bar it goes through, besides the force of its own fastener.

The mesh shows no holes. The stress that it gives where a hole is (gross stress) is carried by what
the hole leaves of the section, and peaks beside it. Each effect counts once:

- material that yields before it breaks spreads the peak: the net section counts, no peak factor;
- material that breaks without yielding takes the net section times the peak factor of a hole, and
  the peak beside the shank that pushes it on top;
- a laminate takes the measured strength of holed coupons, on gross stress, and the change of the
  peak with the width where there is less wall round the hole than in a coupon.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.check.capacity import Capacity, capacity_of
from fea.check.check import Check, Finding, NotChecked
from fea.check.factors import Factors, is_doubtful
from fea.check.jointrules import PIN_SHARE, bearing_stress, pin_peak_factor
from fea.check.neighbours import Cut, width_beside
from fea.check.plies import PLY_STRENGTHS, outermost_plies
from fea.check.resistance import resistance
from fea.check.strength import Asked, Spot, against, missing
from fea.device.device import Device, Wall
from fea.material.criteria import PlyStrength, stress_ratios
from fea.material.library import Kind, LibraryMaterial, Property
from fea.solver.recovery import Recovered
from fea.tensors import von_mises

Array = NDArray[np.float64]

NET_SECTION = "net section"
"""Topic of what a hole leaves of the section."""

BRITTLE: frozenset[Kind] = frozenset({"printed"})
"""Isotropic kinds that take the peak factor already under a single load: across its layers printed
material breaks without yielding."""

COUPON_HOLE, COUPON_SHARE = 6.4, 1.0 / 6.0
"""Diameter (mm) up to which the hole factors of a laminate hold, and diameter over width of the
coupons. Source: handbook-memory (quarter-inch holes in coupons six diameters wide); a larger hole
weakens a laminate more."""

_COUPONS = "size of the coupons' holes: memory-H"
_STRETCHED = "what yields at the hole spreads the peak, so no peak factor is counted here"
_LAYERS = ("bottom", "middle", "top")


def peak_factor(share: ArrayLike) -> Array:
    """Peak over mean net stress beside a hole in a strip under tension, by diameter over width.

    Source: heywood-1952.

    Example:
        >>> peak_factor([0.1, 0.2, 0.3]).round(2).tolist()
        [2.73, 2.51, 2.34]
    """
    return np.asarray(2.0 + (1.0 - np.asarray(share, dtype=float)) ** 3)


def gross_peak_factor(share: ArrayLike) -> Array:
    """Peak over gross stress beside a hole: `peak_factor` over what is left of the width.

    Example:
        >>> float(gross_peak_factor(0.0)), round(float(gross_peak_factor(0.5)), 2)
        (3.0, 4.25)
    """
    return np.asarray(peak_factor(share) / (1.0 - np.asarray(share, dtype=float)))


def hole_factor(kind: Kind, share: float) -> float:
    """What the gross stress of an isotropic wall or bar is multiplied by at a hole.

    Args:
        kind: of the material.
        share: diameter over width, below 1.

    Example:
        >>> hole_factor("metal", 0.2), round(hole_factor("printed", 0.2), 2)
        (1.25, 3.14)
    """
    return float(gross_peak_factor(share)) if kind in BRITTLE else 1.0 / (1.0 - share)


@dataclass(frozen=True, eq=False)
class HoleSpot:
    """A hole and the wall round it.

    Attributes:
        name: of the fastening, strap end or hole.
        what: in words, such as "rivet hole of 4.8 mm".
        diameter: mm, across the stress.
        width: mm, of the wall that the hole is the middle of.
        cells: (c,) True for the triangles where the gross stress is read.
        beside: the hole that leaves no more width; empty where the rim does.
        push: (n,) N of the shank in it, in each case; None without any.
        shank: diameter of it, mm; 0 without any.
    """

    name: str
    what: str
    diameter: float
    width: float
    cells: NDArray[np.bool_]
    beside: str = ""
    push: Array | None = None
    shank: float = 0.0

    @property
    def share(self) -> float:
        """Diameter over width."""
        return self.diameter / self.width if self.width > 0.0 else np.inf

    def among(self, cuts: Sequence[Cut]) -> "HoleSpot":
        """The same with no more width than all holes of the device leave it."""
        width, beside = width_beside(self.name, cuts)
        return self if width >= self.width else replace(self, width=width, beside=beside)

    def pin_peak(self, thickness: float) -> Array | float:
        """Tension (n, 1, 1) beside the shank, by its push on a wall, MPa."""
        if self.push is None:
            return 0.0
        pressure = bearing_stress(self.push, self.shank, thickness)
        return (pin_peak_factor(self.share) * pressure)[:, None, None]

    def within(self, zone: str) -> str:
        """Its width in words."""
        beside = f" beside '{self.beside}'" if self.beside not in ("", self.name) else ""
        return f"{self.width:.0f} mm of wall '{zone}'{beside}"


@dataclass(frozen=True, eq=False)
class Gross:
    """The stress that the mesh gives, computed once for each zone."""

    recovered: Recovered
    _made: dict[str, tuple[Array, Array]] = field(default_factory=dict)

    def mises(self, zone: str) -> tuple[Array, Array]:
        """Von Mises stress and its error (cases, 3, c, 3): bottom, middle, top; cell; corner."""
        if zone not in self._made:
            stress = von_mises(self.recovered.surface_stress(zone))
            self._made[zone] = stress, self.recovered.stress_error(zone)
        return self._made[zone]

    def plies(self, zone: str, plies: Sequence[int]) -> tuple[Array, Array]:
        """Ply stress and its error (cases, c, 3, plies, 3, 3)."""
        if zone not in self._made:
            stress = self.recovered.ply_stress(zone, plies)
            self._made[zone] = stress, self.recovered.ply_stress_error(zone, np.abs, plies)
        return self._made[zone]


def judge_hole(
    device: Device, hole: HoleSpot, gross: Gross, cases: Sequence[str], factors: Factors
) -> tuple[Finding, ...]:
    """The wall beside a hole in every case, by what the hole leaves of it.

    Args:
        device: walls and mesh.
        hole: where, and how large.
        gross: stress of the cases.
        cases: their names.
        factors: partial factors.

    Returns:
        A check "net section" of each wall and case that the cells of the hole lie in; or why not.
    """
    if hole.share >= 1.0:
        edge = f"into a hole of '{hole.beside}'" if hole.beside else "over the rim"
        because = (f"{hole.what} reaches {edge}: the wall is {hole.width:.1f} mm wide there; "
                   "move it, or make it smaller")
        return (NotChecked(topic=NET_SECTION, zone=hole.name, because=because),)
    findings: list[Finding] = []
    for zone, wall in device.walls.items():
        rows = np.flatnonzero(hole.cells[device.mesh.zone(zone)[1]])
        if len(rows) == 0:
            continue
        if wall.layers:
            because = (f"{hole.what} lies in '{zone}', where something is bonded on, for which no "
                       "rule is known; test the place")
            findings.append(NotChecked(topic=NET_SECTION, zone=hole.name, because=because))
            continue
        places = device.mesh.points[device.mesh.zone_cells(zone)[rows]].reshape(-1, 3)
        spots = [Spot(hole.name, case, places) for case in cases]
        judge = _isotropic if wall.layup is None else _laminated
        findings += (
            replace(each, part=zone) if isinstance(each, Check) else each
            for each in judge(hole, zone, wall, spots, rows, gross, factors)
        )
    return tuple(findings)


def _isotropic(
    hole: HoleSpot, zone: str, wall: Wall, spots: Sequence[Spot], rows: NDArray[np.int64],
    gross: Gross, factors: Factors,
) -> list[Finding]:
    capacity = resistance(wall.material, factors)
    if capacity is None:
        return [missing(NET_SECTION, hole.name, wall.material, [factors.against])]
    kind = wall.material.kind
    factor = hole_factor(kind, hole.share)
    if kind in BRITTLE:
        if hole.push is not None and hole.share > PIN_SHARE:
            return [NotChecked(topic=NET_SECTION, zone=hole.name, because=unknown_peak(hole.what))]
        capacity = with_hole_peak(capacity, pushed=hole.push is not None)
    stress, error = (factor * np.moveaxis(values[:, :, rows], 1, -1).reshape(len(spots), -1, 3)
                     for values in gross.mises(zone))
    if kind in BRITTLE:
        thickness = np.broadcast_to(wall.thickness, len(gross.mises(zone)[0][0, 0]))[rows].min()
        stress = stress + hole.pin_peak(float(thickness))
    words = (f"times {factor:.2f} for {hole.what} in {hole.within(zone)}; " + (
        "the peak beside the hole and its shank is in it" if kind in BRITTLE else _STRETCHED))
    required = factors.required(kind)
    found: list[Finding] = []
    for spot, values, doubt in zip(spots, stress, error, strict=True):
        index = spot.worst(values + doubt)
        assert index is not None
        asked = Asked.at(index, values + doubt, doubt)
        what = f"von Mises stress at the {_LAYERS[index[1]]} of the wall {words}"
        found.append(against(capacity, spot, NET_SECTION, index[0], asked, what, required))
    return found


def with_hole_peak(capacity: Capacity, *, pushed: bool) -> Capacity:
    """A capacity with the sources of the peak beside a hole, and how they are known.

    Args:
        capacity: of what breaks without yielding.
        pushed: whether a shank pushes the hole, whose peak is added.
    """
    peaks = {"heywood-1952": "peak beside a hole: memory-H"}
    if pushed:
        peaks["frocht-hill-1940"] = "tests of the peak beside a shank: memory-M"
    return capacity.citing(peaks, peaks.values())


def unknown_peak(what: str) -> str:
    """Why a brittle wall or bar beside a shank is not checked."""
    return (f"{what} takes more than {PIN_SHARE:.0%} of the width, for which no peak beside a "
            "shank is known; move it, or make it smaller")


def _laminated(
    hole: HoleSpot, zone: str, wall: Wall, spots: Sequence[Spot], rows: NDArray[np.int64],
    gross: Gross, factors: Factors,
) -> list[Finding]:
    assert wall.layup is not None
    if hole.diameter > COUPON_HOLE:
        because = (f"{hole.what} is larger than the holes that the hole factors of a laminate were "
                   f"measured on, about {COUPON_HOLE:g} mm; test a coupon with this hole")
        return [NotChecked(topic=NET_SECTION, zone=hole.name, because=because)]
    holed = _holed_strengths(wall.material, hole.share, factors)
    if None in holed.values():
        absent = _absent(wall.material, factors)
        return [missing(NET_SECTION, hole.name, wall.material, absent)]
    capacities = [one for one in holed.values() if one is not None]
    strength = PlyStrength(*(one.value for one in capacities))
    stress, error = (values[:, rows] for values in gross.plies(zone, outermost_plies(wall.layup)))
    doubts = np.abs(stress_ratios(error, strength))
    ratios = stress_ratios(stress, strength) + doubts
    shape = (len(spots), ratios.shape[1] * ratios.shape[2], -1, ratios.shape[-1])
    required = factors.required(wall.material.kind)
    found: list[Finding] = []
    for spot, upper, doubt in zip(spots, ratios.reshape(shape), doubts.reshape(shape), strict=True):
        index = spot.worst(upper)
        assert index is not None
        capacity = capacities[index[-1]]
        asked = Asked.at(index, upper, doubt).times(capacity.value)
        what = (f"{PLY_STRENGTHS[index[-1]].replace('_', ' ')} asked of a ply of wall '{zone}' at "
                f"{hole.what}, gross stress")
        found.append(against(capacity, spot, NET_SECTION, index[0], asked, what, required))
    return found


def _absent(material: LibraryMaterial, factors: Factors) -> list[str]:
    """Library names of what is missing for a laminate at a hole."""
    names = [name for name in PLY_STRENGTHS if capacity_of(material, name, factors) is None]
    for name in ("hole_factor_tension", "hole_factor_compression"):
        known = material.property(name)
        if known is None or not known.may_limit:
            names.append(name)
    return names


def _holed_strengths(
    material: LibraryMaterial, share: float, factors: Factors
) -> Mapping[str, Capacity | None]:
    """The strengths of a ply beside a hole, by name; None where strength or factor is missing.

    No factor for shear was found; the lower of the two others is taken.
    """
    narrow = max(1.0, float(gross_peak_factor(share) / gross_peak_factor(COUPON_SHARE)))
    known = [material.property(f"hole_factor_{sense}") for sense in ("tension", "compression")]
    holed: dict[str, Capacity | None] = {}
    for name in PLY_STRENGTHS:
        tension, compression = known
        given = [one for one in known if one is not None and one.may_limit]
        by_name = {"tensile": tension, "compressive": compression}.get(name.split("_")[0])
        if name.startswith("shear") and len(given) == len(known):
            by_name = min(given, key=lambda one: one.lower)
        whole = capacity_of(material, name, factors)
        if whole is None or by_name is None or not by_name.may_limit:
            holed[name] = None
            continue
        holed[name] = _narrowed(at_a_hole(whole, by_name), narrow)
    return holed


def at_a_hole(whole: Capacity, factor: Property) -> Capacity:
    """The strength of a laminate with a measured factor of holed coupons.

    Args:
        whole: strength of the ply without a hole.
        factor: one that may limit; the lower end of its range counts.
    """
    doubt = f"hole factor: {factor.status}" if is_doubtful(factor.status) else ""
    holed = replace(
        whole, value=whole.value * factor.lower,
        basis=f"{whole.basis}, times {factor.lower:.2f} at a hole",
    )
    return holed.citing([factor.source], [doubt, _COUPONS])


def _narrowed(capacity: Capacity, narrow: float) -> Capacity:
    """The same where there is less wall round the hole than in a coupon."""
    if narrow <= 1.0:
        return capacity
    narrowed = replace(
        capacity, value=capacity.value / narrow,
        basis=f"{capacity.basis}, over {narrow:.2f} for the narrow wall",
    )
    return narrowed.citing(["heywood-1952"], ["peak beside a hole: memory-H"])

