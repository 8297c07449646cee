# SPDX-License-Identifier: MIT
"""What a material of the library outlives: its S-N line with mean stress, as far as it is known.

Numbers of fatigue are middles of tests; the partial factors of life bring them to what nearly every
piece outlives. Static strengths are those that may be counted on.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from fea.check.capacity import Capacity, capacity_of
from fea.check.factors import Factors, PartialFactor, is_doubtful
from fea.check.purpose import factors_for
from fea.check.wording import quantity_text
from fea.material.laminate import Ply
from fea.material.library import Kind, LibraryMaterial
from fea.material.life import Basquin, FatigueCurve, Goodman, Sensitivity, sensitivity

SHORT_LIFE, SHORT_SHARE = 1e3, 0.9
"""Metals bear 0.9 of their tensile strength for a thousand cycles. Source: shigley-2011, from
memory."""
_SHORT_STATUS = "memory-M"
_CLOTH = 0.5  # from this E2/E1 on there are fibres both ways
_DIRECTIONS = ("along axis 1", "along axis 2", "in shear")


@dataclass(frozen=True)
class LifeCurve:
    """What a material outlives, and how that is known.

    Attributes:
        sure: what nearly every piece outlives;  middle: what half of the test pieces did.
        basis: in words;  sources: keys;  note: reservations.
        published: cycles that published tests reach; None where the curve is trusted beyond.
    """

    sure: FatigueCurve
    middle: FatigueCurve
    basis: str
    sources: tuple[str, ...]
    note: str
    published: float | None = None


class UnknownLifeError(Exception):
    """A material whose life is not known; the message names what is missing."""


def life_curve(material: LibraryMaterial, factors: Factors) -> LifeCurve:
    """The curve of a metal, thermoplastic or printed material.

    Metals: from `SHORT_LIFE` cycles to the knee, by Goodman. Others: from the yield strength at
    one cycle to the fatigue strength, mean stress by a second stress ratio or else by Goodman.

    Raises:
        UnknownLifeError: a number is missing, or too uncertain.

    Example:
        >>> from fea.check.factors import read_factors
        >>> from fea.material.library import read_library
        >>> curve = life_curve(read_library()["aluminium-7075-t6"], read_factors())
        >>> round(curve.middle.line.amplitude), round(curve.sure.line.amplitude)
        (95, 73)
    """
    known = _Known(material, factors)
    metal = material.kind == "metal"
    name = "tensile_strength" if metal else "yield_strength"
    static, strength = known.middle(name), known.strength(name)
    amplitude, cycles = known.middle("fatigue_amplitude"), known.number("fatigue_cycles")
    published = None if metal else known.number("published_life_cycles")
    mean, words, source = _mean_stress(known, amplitude, strength)
    known.require()
    short = (SHORT_LIFE, SHORT_SHARE * static) if metal else (1.0, static)
    surface = known.factor("surface")
    if metal:
        known.doubts.append(
            f"{SHORT_SHARE:g} of the tensile strength at {SHORT_LIFE:.0e} cycles: {_SHORT_STATUS}")
        known.sources += ["shigley-2011", "haibach-2006"]
        words += ", exponent 2k - 1 beyond these cycles"

    def curve(scatter: float) -> FatigueCurve:
        line = Basquin.through(
            (short[0], short[1] / scatter), (cycles, amplitude / surface / scatter), knee=metal
        )
        return FatigueCurve(line, mean, strength, strength)

    head = f"fatigue amplitude {quantity_text(amplitude)} MPa fully reversed at {cycles:.0e} cycles"
    return known.curve(curve, head + words, published, source)


def _mean_stress(
    known: "_Known", amplitude: float, strength: float
) -> tuple[Goodman | Sensitivity, str, str]:
    """Mean stress of a wall or bar, in words, and the source of the rule."""
    second = "fatigue_maximum_stress"
    if known.material.kind == "metal" or second not in known.material.properties:
        return Goodman(strength), ", mean stress by Goodman", "goodman-1899"
    largest, ratio = known.middle(second), known.number("fatigue_maximum_ratio")
    share = Sensitivity(sensitivity(amplitude, largest, ratio))
    return share, ", mean stress by two stress ratios", "schuetz-1967"


def ply_curves(material: LibraryMaterial, factors: Factors) -> tuple[LifeCurve, ...]:
    """The curves of a ply along axis 1, along axis 2 and in shear.

    Along fibres the lines of equal life run through three stress ratios; across single fibres and
    in shear they run to the static strengths.

    Raises:
        UnknownLifeError: a number is missing, or too uncertain.
    """
    assert isinstance(material.elastic, Ply)
    cloth = material.elastic.e2 >= _CLOTH * material.elastic.e1
    return tuple(
        _ply_curve(_Known(material, factors), number, fibres=number == 0 or (number == 1 and cloth))
        for number in range(3)
    )


def _ply_curve(known: "_Known", number: int, fibres: bool) -> LifeCurve:
    axis = number + 1
    pair = (f"tensile_strength_{axis}", f"compressive_strength_{axis}")
    names = pair if number < 2 else ("shear_strength_12", "shear_strength_12")
    pull, push = (known.middle(name) for name in names)
    sure_pull, sure_push = (known.strength(name) for name in names)
    cycles = known.number("fatigue_cycles")
    ratio = known.number("fatigue_ratio_reversed" if fibres else "fatigue_ratio_matrix")
    both = [known.number(f"fatigue_ratio_{name}") if fibres else 1.0
            for name in ("tension", "compression")]  # fmt: skip
    surface = known.factor("surface")
    known.require()
    static = min(pull, push)
    mean: Goodman | Sensitivity = Goodman(sure_pull, sure_push)
    if fibres:
        mean = Sensitivity(*(sensitivity(ratio * static, each * pull, 0.1) for each in both))

    def curve(scatter: float) -> FatigueCurve:
        long = (cycles, ratio * static / surface / scatter)
        line = Basquin.through((1.0, static / scatter), long)
        return FatigueCurve(line, mean, sure_pull, sure_push)

    words = f"fatigue amplitude {quantity_text(ratio * static)} MPa {_DIRECTIONS[number]}, fully "
    words += f"reversed at {cycles:.0e} cycles, mean stress by "
    words += "three stress ratios" if fibres else "the static strengths"
    return known.curve(curve, words, None, "schuetz-1967" if fibres else "goodman-1899")


class _Known:
    """Numbers of one material, with what is missing and where the rest comes from."""

    def __init__(self, material: LibraryMaterial, factors: Factors):
        self.material = material
        self.factors = factors_for(factors, "fall")  # nothing is held for long
        self.missing: list[str] = []
        self.sources: list[str] = []
        self.doubts: list[str] = []

    def middle(self, name: str) -> float:
        """A strength in the middle of its tests, at body temperature, MPa."""
        row = self.material.property(name)
        if row is None:
            return self._take(name, None)
        plain = {**self.material.properties, name: replace(row, low=None, high=None)}
        material = replace(self.material, properties=MappingProxyType(plain))
        return self._take(name, capacity_of(material, name, _without_scatter(self.factors)))

    def strength(self, name: str) -> float:
        """A strength that may be counted on for one short load, MPa."""
        return self._take(name, capacity_of(self.material, name, self.factors))

    def number(self, name: str) -> float:
        """A plain number."""
        row = self.material.property(name)
        if row is None or not row.may_limit:
            self.missing.append(name)
            return 1.0
        self._from(name, row.source, row.status)
        return row.value

    def factor(self, effect: str) -> float:
        """A partial factor of life."""
        return self._part(effect).value

    def require(self) -> None:
        """Raise `UnknownLifeError` where something is missing."""
        if self.missing:
            listed = ", ".join(name.replace("_", " ") for name in dict.fromkeys(self.missing))
            raise UnknownLifeError(
                f"no trustworthy value of {listed} is known for '{self.material.name}'; measure it "
                "and lay a material file over the library"
            )

    def curve(
        self,
        made: Callable[[float], FatigueCurve],
        words: str,
        published: float | None,
        source: str,
    ) -> LifeCurve:
        """The curve made with scatter and without, and what it rests on."""
        parts = [part for part in self.factors.of_life(self.material.kind) if part.value != 1.0]
        words += "".join(f", over {part.value:.2f} for {part.effect}" for part in parts)
        for part in parts:
            self._from(f"factor for {part.effect}", part.source, part.status)
        return LifeCurve(
            made(self._part("fatigue").value), made(1.0), words,
            tuple(dict.fromkeys([*self.sources, source, "basquin-1910", "miner-1945"])),
            "; ".join(dict.fromkeys(self.doubts)), published,
        )  # fmt: skip

    def _part(self, effect: str) -> PartialFactor:
        return self.factors.partial(effect, self.material.kind)

    def _take(self, name: str, capacity: Capacity | None) -> float:
        if capacity is None:
            self.missing.append(name)
            return 1.0
        self.sources += capacity.sources
        head = f"{name.replace('_', ' ')}: "
        pieces = capacity.note.split("; ") if capacity.note else []
        self.doubts += [piece.replace("strength: ", head) for piece in pieces]
        return capacity.value

    def _from(self, name: str, source: str, status: str) -> None:
        self.sources.append(source)
        if is_doubtful(status):
            self.doubts.append(f"{name.replace('_', ' ')}: {status}")


def _without_scatter(factors: Factors) -> Factors:
    """Fatigue numbers are middles: their scatter is the partial factor for fatigue."""
    rows = {kind: replace(part, value=1.0) for kind, part in
            factors.table["material_scatter"].items()}  # fmt: skip
    table: dict[str, Mapping[Kind, PartialFactor]] = dict(factors.table)
    table["material_scatter"] = MappingProxyType(rows)
    return replace(factors, table=MappingProxyType(table))
