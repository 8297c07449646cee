# SPDX-License-Identifier: MIT
"""From the recipe's shares and millimetres to the measures of one limb, contradictions refused."""

from fea.device.mouldedfile import MouldedRecipeFile
from fea.device.sweep import Form, Rib
from fea.device.trim import Trim
from fea.errors import DeviceError
from fea.limb import HEEL_FULLEST, Limb


def form_of(content: MouldedRecipeFile, limb: Limb) -> Form:
    """The moulded surface of a recipe on a limb; raises `DeviceError` where it cannot be."""
    foot, ankle = content.foot, content.ankle
    heel, length = limb.landmarks["heel"][0], limb.foot_length
    form = Form(
        gap=content.gap_mm,
        wall_height=foot.wall_height_share * limb.ankle_height,
        wall_end=heel + foot.wall_end_share * length,
        trim_x=ankle.anterior_trim_mm,
        trim_radius=ankle.trim_radius_mm,
        sole_radius=foot.sole_radius_mm,
        heel_radius=foot.heel_radius_mm,
        ball_x=limb.landmarks["ball"][0],
        plate_end=heel + foot.plate_length_share * length,
        toe_rise=foot.toe_rise_mm,
        malleolus_clearance=ankle.malleolus_clearance_mm,
        ribs=tuple(
            Rib(
                rib.behind_malleolus_mm,
                rib.above_malleolus_mm,
                rib.height_mm,
                rib.width_mm,
                rib.length_mm,
            )
            for rib in content.ribs
        ),
    )
    _require_form(content, limb, form)
    _require_plate(content, form)
    return form


def trim_of(content: MouldedRecipeFile, limb: Limb) -> Trim:
    """The trim lines of a recipe on a limb; raises `DeviceError` where they contradict."""
    front, opening = content.front_piece, content.opening
    plateau = limb.plateau_height
    trim = Trim(
        opening=opening.start_share * plateau,
        opening_radius=opening.radius_mm,
        upright_width=content.upright_width_mm,
        front_lower=front.lower_share * plateau,
        front_upper=front.upper_share * plateau,
        front_radius=front.lower_radius_mm,
        corner_radius=front.corner_radius_mm,
        wrap=front.wrap_share,
        over_knee=front.over_knee_mm,
        toe_round=content.foot.toe_round_mm,
    )
    _require_trim(content, limb, trim)
    return trim


def _require_form(content: MouldedRecipeFile, limb: Limb, form: Form) -> None:
    foot, length = content.foot, limb.foot_length
    section = limb.shank_section(form.fan_z)
    low, high = float(section.x - section.back), float(section.x + section.front)
    _require(
        low + 15.0 <= form.trim_x <= high - 5.0,
        "ankle.anterior_trim_mm",
        form.trim_x,
        f"must lie between {low + 15.0:.0f} and {high - 5.0:.0f} mm for this shank",
    )
    fullest = HEEL_FULLEST * length + form.gap
    instep = float(limb.dorsum_height(form.fan_x))
    _require(
        form.heel_radius <= fullest,
        "foot.heel_radius_mm",
        form.heel_radius,
        f"must be at most {fullest:.0f} mm, the fullest place of this heel",
    )
    _require(
        form.sole_radius <= 0.5 * form.wall_height + form.gap,
        "foot.sole_radius_mm",
        form.sole_radius,
        f"leaves no wall of {form.wall_height:.0f} mm height; lessen it",
    )
    _require(
        form.wall_height <= 0.8 * instep,
        "foot.wall_height_share",
        foot.wall_height_share,
        f"brings the wall over the instep, {instep:.0f} mm high; lower it",
    )


def _require_plate(content: MouldedRecipeFile, form: Form) -> None:
    foot = content.foot
    _require(
        form.fan_x + 0.8 * form.wall_height <= form.wall_end,
        "foot.wall_end_share",
        foot.wall_end_share,
        "ends the walls too close to the trim radius at the ankle; enlarge it, or lessen the "
        "radius",
    )
    _require(
        form.wall_end + foot.toe_round_mm <= form.plate_end,
        "foot.plate_length_share",
        foot.plate_length_share,
        "ends the plate before its rounding clears the walls; "
        "lengthen the plate, or shorten the walls or toe_round_mm",
    )


def _require_trim(content: MouldedRecipeFile, limb: Limb, trim: Trim) -> None:
    front, opening, plateau = content.front_piece, content.opening, limb.plateau_height
    low = content.foot.heel_radius_mm + 2.0
    _require(
        trim.opening >= low,
        "opening.start_share",
        opening.start_share,
        f"begins the opening {trim.opening:.0f} mm above the sole, within the heel's "
        f"rounding; begin it above {low:.0f} mm",
    )
    highest = trim.front_lower - trim.front_radius - trim.opening_radius
    _require(
        trim.opening <= highest,
        "opening.start_share",
        opening.start_share,
        "must begin the opening below the front piece, or the leg cannot get in: at most "
        f"{highest / plateau:.2f} here",
    )
    room = trim.front_upper - trim.front_lower - trim.corner_radius
    _require(
        room >= 15.0,
        "front_piece.upper_share",
        front.upper_share,
        "leaves the front piece no height beside its corner radius; raise it",
    )
    top = trim.front_upper + trim.over_knee
    _require(
        top <= 1.12 * plateau,
        "front_piece.over_knee_mm",
        front.over_knee_mm,
        f"takes the front piece to {top:.0f} mm; the limb is known to {1.12 * plateau:.0f}",
    )


def _require(holds: bool, key: str, value: float, cure: str) -> None:
    if not holds:
        raise DeviceError(f"{key} = {value:g} {cure}")
