# SPDX-License-Identifier: MIT
"""What the numbers of an assessment rest on, in words."""

import math

from fea.device.device import Device
from fea.loadcase.instant import LoadSet
from fea.structure.limbmodel import LimbModel
from fea.structure.tissue import FOOT, SHANK
from fea.wearer import Wearer

RIVETED = (
    "A rivet or screw carries the force between bar and wall by its shank, without friction; the "
    "moment about its own axis is carried by its row, and a moment that tilts it pulls it over the "
    "rim of its washer. How it is set, and whether it works loose, is not judged."
)
"""What the checks of fastenings rest on, see `fea.check.fasteners`."""


def assumptions(device: Device, wearer: Wearer, load_set: LoadSet) -> tuple[str, ...]:
    """One sentence for each thing that was assumed and not measured."""
    estimated = [name for name, measure in wearer.measures.items() if measure.estimated]
    names = ", ".join(name.removesuffix("_mm").replace("_", " ") for name in estimated)
    shank, foot = (f"{1000 * tissue.bed_stiffness:.0f} kPa/mm" for tissue in (SHANK, FOOT))
    straps = ", ".join(
        f"{strap.name} {strap.stiffness:g} N/mm ({strap.status})" for strap in device.straps
    )
    return (
        *((f"Measures estimated from published surveys, not taken: {names}.",) if names else ()),
        "Foot and shank are rigid and joined at the ankle axis; the shank is held. Every instant "
        "is judged with a rigid foot on a hinge, with toes that bend freely, and with an ankle "
        "that turns to all sides under a push moved 10 mm to either side; the worst counts.",
        "The calf does no work: the device carries the whole external ankle moment.",
        f"Skin, flesh and liner only press, {shank} under the front piece and {foot} under the "
        "foot (confined layer; moduli from memory, not measured on this wearer; stress in plate "
        "and foot walls and the ankle rotation depend on them; pressure on the skin is judged from "
        "half to twice that stiffness).",
        f"Straps only pull: {straps}." if straps else "No strap holds the limb in the device.",
        *((RIVETED,) if device.fastenings else ()),
        "Materials are linear elastic. Displacements are small, but in instants that are said to be "
        "solved with large rotations; there the ground’s force turns with the foot.",
        "Stress in walls is recovered at the corners of the cells from the means of the cells "
        "round them, never over folds or steps in wall; what a check asks contains an estimate of "
        "its discretisation error. Bars are exact between their nodes.",
        " ".join(load_set.note.split()),
        *device.notes,
    )


def step_assumptions(step: LoadSet | None, limb: LimbModel) -> tuple[str, ...]:
    """What the charts of a step and the knee rest on; nothing without a step.

    Example:
        >>> from fea.loadcase.reader import read_load_set
        >>> step_assumptions(read_load_set("typical-step"), LimbModel(calf_share=0.25))[1]
        'In the step the calf carries 25 % of a dorsiflexing moment; the verdict leaves it out.'
    """
    if step is None:
        return ()
    shares = []
    if limb.calf_share:
        shares.append(f"the calf carries {100.0 * limb.calf_share:g} % of a dorsiflexing moment")
    if limb.ankle_stiffness:
        stiffness = math.radians(limb.ankle_stiffness) / 1000.0
        shares.append(f"the passive ankle resists with {stiffness:.2g} N·m/deg")
    return (
        f"The step: {' '.join(step.note.split())}",
        *((f"In the step {' and '.join(shares)}; the verdict leaves it out.",) if shares else ()),
        "The service life rests on this step, on a rigid foot and a calf that does nothing, with a "
        "heel strike held down by the device in every cycle. A stair and a stumble are the step "
        "times the ratio of the largest vertical forces; for adults the step of children is scaled "
        "to their ankle moment. Free toes and a loose ankle, which may load it a sixth harder, are "
        "left to the factor for the model. Joints are not in it.",
        "What is left to the knee follows from the ground reaction and the angle of the shank; "
        "weight and inertia of foot and shank are neglected.",
    )
