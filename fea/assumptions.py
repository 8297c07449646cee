# SPDX-License-Identifier: MIT
"""What the numbers of an assessment rest on, in words."""

import math

from fea.device.device import Device
from fea.loadcase.instant import LoadSet
from fea.structure.limbmodel import LimbModel
from fea.structure.tissue import FOOT, SHANK
from fea.wearer import Wearer

HELD = (
    "These postures are held: pressure on the skin is set against the levels of pressure that "
    "stays, not of pressure that comes and goes with steps."
)
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
        *_limb_words(load_set),
        f"Skin, flesh and liner only press, {shank} under the front piece and {foot} under the "
        "foot (confined layer; moduli from memory, not measured on this wearer; stress in plate "
        "and foot walls depends on them; pressure on the skin is judged from half to twice that "
        "stiffness).",
        "The ankle rotation is judged with half that stiffness and a device as warm as the body; "
        "all other movement is shown as at room temperature.",
        f"Straps only pull: {straps}." if straps else "No strap holds the limb in the device.",
        *((RIVETED,) if device.fastenings else ()),
        "Materials are linear elastic. Displacements are small, but in instants that are said to "
        "be solved with large rotations; there the ground’s force turns with the foot.",
        "Stress in walls is recovered at the corners of the cells from the means of the cells "
        "round them, never over folds or steps in wall; what a check asks contains an estimate of "
        "its discretisation error. Bars are exact between their nodes.",
        *((HELD,) if load_set.held else ()),
        load_set.note_for(wearer),
        *device.notes,
    )


def _limb_words(load_set: LoadSet) -> tuple[str, ...]:
    """How the limb is modelled under instants, pushes and bends."""
    models = "with a rigid foot on a hinge, with toes that bend freely, and with an ankle that "
    words = []
    if load_set.instants:
        words.append(
            "Foot and shank are rigid and joined at the ankle axis; the shank is held. Every "
            f"instant is judged {models}turns to all sides under a push moved 10 mm to either "
            "side; the worst counts."
        )
        words.append("The calf does no work: the device carries the whole external ankle moment.")
    if load_set.pushes:
        words.append(
            "Under a push on the device, foot and shank are rigid and joined at the ankle axis, "
            f"and the shank is held; it is judged {models}turns to all sides, and the worst "
            "counts. The foot is free to follow: nothing else pushes on it."
        )
    if load_set.bends:
        words.append(
            "Under a bend of the plate the foot is rigid, and none of it presses ahead of the hold."
        )
    return tuple(words)


def is_own_step(load_set: LoadSet, step: LoadSet | None) -> bool:
    """Whether the step is the load set that is judged."""
    return step is not None and step.name == load_set.name


def step_words(load_set: LoadSet, step: LoadSet | None) -> str:
    """Which step the charts and the knee follow, in one sentence.

    Example:
        >>> from fea.loadcase.reader import read_load_set
        >>> step_words(read_load_set("crouch"), None)
        'Step: none is shown beside postures that are held.'
    """
    if step is None:
        if load_set.held:
            return "Step: none is shown beside postures that are held."
        if not load_set.instants:
            return "Step: none is shown beside loads that are no instants of stance."
        return "Step: none is shown."
    if is_own_step(load_set, step):
        what = "measured gait" if load_set.measured_on else "a step"
        return f"Step: the loads that are judged, which are {what} themselves."
    return f"Step: {step.title}; for charts, the knee and the service life."


def step_assumptions(
    step: LoadSet | None, limb: LimbModel, load_set: LoadSet, wearer: Wearer
) -> tuple[str, ...]:
    """What the charts of a step and the knee rest on; what is left to the knee without a step.

    Args:
        step: the step;  limb: how it is modelled then.
        load_set: that is judged, and may be the step itself.
        wearer: who wears the device.

    Example:
        >>> from fea.loadcase.reader import read_load_set
        >>> step, calf = read_load_set("typical-step"), LimbModel(calf_share=0.25)
        >>> child = Wearer(mass_kg=35, height_mm=1410, side="left")
        >>> step_assumptions(step, calf, read_load_set("walking-envelope"), child)[1]
        'In the step the calf carries 25 % of a dorsiflexing moment; the verdict leaves it out.'
    """
    knee = (
        "What is left to the knee follows from the ground reaction and the angle of the shank; "
        "weight and inertia of foot and shank are neglected."
    )
    if step is None:
        known = any(instant.shank_angle_deg is not None for instant in load_set.instants)
        return (knee,) if known else ()
    shares = []
    if limb.calf_share:
        shares.append(f"the calf carries {100.0 * limb.calf_share:g} % of a dorsiflexing moment")
    if limb.ankle_stiffness:
        stiffness = math.radians(limb.ankle_stiffness) / 1000.0
        shares.append(f"the passive ankle resists with {stiffness:.2g} N·m/deg")
    note = step.note_for(wearer)
    if is_own_step(load_set, step):
        own = " ".join(load_set.note.split())
        more = " ".join(step.note.split()).removeprefix(own).lstrip()
        note = " ".join(filter(None, ["the loads that are judged serve as the step.", more]))
    return (
        f"The step: {note}",
        *((f"In the step {' and '.join(shares)}; the verdict leaves it out.",) if shares else ()),
        "The service life rests on this step, on the same models of the limb as the verdict and a "
        "calf that does nothing, with a heel strike held down by the device in every cycle; each "
        "wall and bar on the model that harms it most. A stair and a stumble are the step "
        "times the ratio of the largest vertical forces; for adults the step of children is scaled "
        "to their ankle moment, and stairs and stumbles with it. Joints are not in it.",
        "The service life is judged on the mean forces of that step. Steps differ, and no factor "
        "covers it: those above the mean use up more life than those below it save.",
        knee,
    )
