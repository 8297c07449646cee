# SPDX-License-Identifier: MIT
"""What a report says of the touch of limb and device: pads, zones, straps, levels, a map."""

import math
from collections.abc import Sequence

import numpy as np

from fea.assessment import Assessment
from fea.check.pressure import CAUTION, DISCOMFORT_KPA, OVER_BONE, PAIN_KPA, discomfort
from fea.check.touch import BONE_RADIUS, PAD, PadReading, PressureReading, nodal_pressure
from fea.check.wording import quantity_text
from fea.drawing.picture import Callout, Picture, Scale
from fea.drawing.scene import free_edges
from fea.reporting.sketch import Draft, bar_lines, bar_radius, round_up, two_views
from fea.reporting.table import Table, table
from fea.reporting.words import place_text, plain
from fea.skin import Band

SKIN_WORDS = (
    f"Required is that the mean pressure over any {PAD / 100:g} cm² of wall, over a disc of "
    f"{BONE_RADIUS:g} mm radius where bone lies under the skin, and under a strap, stays below the "
    "lowest level at which healthy adults called a cuff round the knee painful. Discomfort is "
    "flagged, and so is bone that is pressed beyond half of that level. A peak at a point follows "
    "the stiffness of flesh and liner, which is not known of this wearer, so it is shown as a band "
    "and not judged.",
    f"{CAUTION}.",
)


def skin_lines(result: Assessment) -> tuple[str, ...]:
    """What is required of the pressure on the skin, and from where discomfort is flagged."""
    level, when = discomfort(result.skin.held)
    return (*SKIN_WORDS, f"Discomfort is flagged above {level:g} kPa, where it begins {when}.")


def pads_table(result: Assessment) -> Table:
    """The hardest pad of every part, over the band of flesh stiffness."""
    rows = [
        (plain(band.usual.part), *(_kpa(pad.mean) for pad in band.every),
         _range([pad.peak for pad in band.every]) if band.usual.kind != "strap" else None,
         _state(band, result.skin.held), band.hardest.case,
         place_text(band.hardest.place, result.device.side))
        for band in sorted(result.skin.bands, key=lambda band: -band.hardest.mean)
    ]
    return table(
        "The hardest pressed pad of every part of the shank, kPa, with flesh and liner half as "
        "stiff, as stiff, and twice as stiff as usual; the highest is judged, and case and place "
        "are its own. Peak: at a point, from soft to stiff.",
        ["part", ">soft", ">usual", ">stiff", ">peak", "level reached", "case", "place"], rows)


def zones_table(result: Assessment) -> Table:
    """Every zone that touches the limb, in the case that presses it hardest."""
    worst: dict[str, PressureReading] = {}
    for item in result.pressures:
        if item.zone not in worst or _size(item) > _size(worst[item.zone]):
            worst[item.zone] = item
    rows = [
        (plain(item.zone), f"{_size(item):.0f}", f"{item.force[0]:.0f}", f"{item.area / 100:.0f}",
         _kpa(item.mean), _kpa(item.peak), item.case)
        for item in worst.values()
    ]
    return table(
        "Zones that touch the limb, in the case of largest force, with a rigid foot and usual "
        "flesh. Force: what the zone exerts on the limb in all, and forward (backward is "
        "negative). Contact: the area that presses; mean: over that area.",
        ["zone", ">force, N", ">forward, N", ">contact, cm²", ">mean, kPa", ">peak, kPa", "case"],
        rows)


def straps_table(result: Assessment) -> Table | None:
    """Every strap in the case that pulls it hardest; None without straps."""
    names = dict.fromkeys(item.strap for item in result.straps)
    worst = [max((item for item in result.straps if item.strap == name),
                 key=lambda item: item.tension) for name in names]
    rows = [(plain(item.strap), f"{item.tension:.0f}", _kpa(item.pressure),
             item.case if item.tension else None) for item in worst]
    return table("Straps in the case that pulls them hardest; the pull of putting them on comes on "
                 "top.", ["strap", ">tension, N", ">pressure, kPa", "case"], rows) if rows else None


def levels_table(result: Assessment) -> Table:
    """The levels that pressure is held against, and where they come from."""
    used = "lower, of pressure that stays: the postures are held" if result.skin.held else (
        "upper, of pressure that comes and goes; a posture that is held asks for the lower")
    half = OVER_BONE * PAIN_KPA[0]
    rows = [
        ("discomfort", f"{DISCOMFORT_KPA[0]:g} to {DISCOMFORT_KPA[1]:g}", "read", "kermavnar-2020",
         f"flagged above the {used}"),
        ("pain", f"{PAIN_KPA[0]:g} to {PAIN_KPA[1]:g}", "read", "kermavnar-2020",
         "required below the lower, that of pressure that stays"),
        ("over bone", f"{half:.4g}", "practice", "practice",
         "half the pain level; beyond it the place is called not checked"),
        ("pad", f"{PAD / 100:g} cm²", "read", "tolerance-pad-2021",
         "pad of a study of pain; wider cuffs hurt at lower pressure (kermavnar-2020-width)"),
    ]
    return table("Levels of pressure, kPa: means of healthy adults, with a cuff round the knee.",
                 ["level", ">value", "standing", "source", "use"], rows)


def skin_tables(result: Assessment) -> tuple[Table, ...]:
    """All tables of the touch, in reading order."""
    found = (pads_table(result), zones_table(result), straps_table(result), levels_table(result))
    return tuple(item for item in found if item)


def pressure_map(result: Assessment) -> Draft | None:
    """The highest pressure of all cases at each place of the shank; None without any."""
    shank = [item for item in result.pressures if item.zone in result.device.shank_zones]
    top = max(shank, key=lambda item: item.peak, default=None)
    if top is None or top.peak <= 0.0:
        return None
    mesh, every = result.device.mesh, result.device.mesh.cells["triangle"]
    shown = np.zeros(len(every), dtype=bool)
    for zone in result.device.shank_zones:
        shown[mesh.zone(zone)[1]] = True
    triangles = every[shown]
    highest = np.fmax.reduce([nodal_pressure(each) for each in result.run.solutions.values()])
    pressure = 1000.0 * highest[triangles].mean(axis=1)
    picture = Picture(
        mesh.points, triangles, two_views(result.device.side), triangle_values=pressure,
        lines=bar_lines(result), line_radius=bar_radius(result),
        scale=Scale("pressure on the skin, kPa", 0.0, round_up(float(pressure.max())), bands=8),
        outline=mesh.points[free_edges(every[~shown])],
        callouts=(Callout(f"peak {1000.0 * top.peak:.0f} kPa", top.place),),
    )
    facts = (f"The peak, {1000.0 * top.peak:.0f} kPa, lies in {plain(top.zone)}, "
             f"{place_text(top.place, result.device.side)} (case “{top.case}”).")
    alt = f"The walls on the shank, coloured by pressure, with the rims of the rest. {facts}"
    caption = ("The highest pressure of all cases at each place of the shank, with a rigid foot "
               f"and usual flesh; not everywhere at once. {facts} A peak is no limit: it follows "
               "how stiff flesh is, see the table.")
    return "pressure", picture, alt, caption


def _state(band: Band, held: bool) -> str:
    """The highest level that the hardest pad of a part goes beyond."""
    pad: PadReading = band.hardest
    mean = 1000.0 * pad.mean
    if mean > PAIN_KPA[0]:
        return "✗ pain"
    if pad.kind == "bone" and mean > OVER_BONE * PAIN_KPA[0]:
        return "! half of pain, over bone"
    return "! discomfort" if mean > discomfort(held)[0] else "✓ below discomfort"


def _size(item: PressureReading) -> float:
    return math.hypot(*item.force)


def _kpa(pressure: float) -> str:
    return quantity_text(1000.0 * pressure)


def _range(values: Sequence[float]) -> str:
    return f"{1000.0 * min(values):.0f} to {1000.0 * max(values):.0f}"
