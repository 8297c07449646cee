# SPDX-License-Identifier: MIT
"""Writes published curves as a laboratory would: in its own units, signs and sampling."""

import numpy as np

from fea.loadcase.gait import ANKLE_HEIGHT, FOOT_LENGTH, SAMPLE_HEIGHT, foot_cop, foot_pitch

MASS, GRAVITY = 40.0, 9.80665
FOOT, ANKLE = FOOT_LENGTH * SAMPLE_HEIGHT, ANKLE_HEIGHT * SAMPLE_HEIGHT


def knee_laboratory(curve):
    """Newtons and newton metres by inverse dynamics: no centre of pressure, no foot angle."""
    return {
        "vertical_force": ("Fz", "N", "up on the foot", curve.fz_bw * MASS * GRAVITY),
        "fore_aft_force": ("Fx", "N", "backward on the foot", -curve.fx_bw * MASS * GRAVITY),
        "ankle_moment": ("M ankle", "N·m", "external plantarflexing",
                         -MASS * curve.ankle_moment_nm_per_kg),
        "knee_moment": ("M knee", "N·m/kg", "internal extending", curve.knee_moment_nm_per_kg),
        "ankle_angle": ("ankle", "deg", "dorsiflexion", curve.ankle_angle_deg),
    }


def floor_laboratory(curve):
    """Newtons per kg, centre of pressure level with the floor from the ankle, foot in radians.

    By position vectors of the floor: M = Fz x + Fx (height of the ankle over the floor).
    """
    pitch = foot_pitch(curve)
    ahead = (foot_cop(curve) - 0.25) * FOOT
    height = ahead * np.sin(pitch) + ANKLE * np.cos(pitch)
    moment = curve.ankle_moment_nm_per_kg * 1000.0 / GRAVITY
    level = (moment - curve.fx_bw * height) / curve.fz_bw
    return {
        "vertical_force": ("up", "N/kg", "down on the ground", curve.fz_bw * GRAVITY),
        "fore_aft_force": ("ahead", "N/kg", "forward on the ground", -curve.fx_bw * GRAVITY),
        "centre_of_pressure": ("place", "m", "toward the heel", -level / 1000.0),
        "ankle_moment": ("moment", "N·m/kg", "internal plantarflexing",
                         curve.ankle_moment_nm_per_kg),
        "foot_angle": ("foot", "rad", "toes up", -pitch),
    }


def plate_laboratory(curve):
    """As `floor_laboratory`, in coordinates of a laboratory with a walking ankle."""
    table = floor_laboratory(curve)
    ankle = 2.0 + 0.001 * curve.percent
    name, unit, _, back = table["centre_of_pressure"]
    return {
        **table,
        "centre_of_pressure": (name, unit, "toward the toes", ankle - back),
        "ankle_position": ("ankle x", "mm", "toward the heel", -1000.0 * ankle),
    }


def insole_laboratory(curve):
    """Body weights, centre of pressure along the sole, angles of shank and ankle."""
    lean = np.degrees(foot_pitch(curve)) + curve.ankle_angle_deg
    return {
        "vertical_force": ("weight", "BW", "up on the ground", -curve.fz_bw),
        "fore_aft_force": ("shear", "BW", "backward on the ground", curve.fx_bw),
        "centre_of_pressure": ("place", "foot lengths", "toward the toes", foot_cop(curve)),
        "shank_angle": ("shank", "deg", "leaning backward", -lean),
        "ankle_angle": ("ankle", "rad", "plantarflexion", -np.radians(curve.ankle_angle_deg)),
    }


def write_laboratory(folder, table, time, sampling, *, origin=None, extra=""):
    """Write header and table; `sampling` is the text of the header's table. Returns the header."""
    header = [
        'kind = "measured gait"', 'name = "lab"', 'title = "Published curves"', 'file = "lab.csv"',
        'source = "schwartz-2008"', "[person]", 'curves_of = "the wearer"', 'side = "left"',
        f"mass_kg = {MASS}", f"height_mm = {SAMPLE_HEIGHT}", "[sampling]", 'column = "t"', sampling,
    ]
    for quantity, (column, unit, positive, _) in table.items():
        header += [f"[columns.{quantity}]", f'column = "{column}"', f'unit = "{unit}"',
                   f'positive = "{positive}"']
        if quantity == "centre_of_pressure":
            header.append(f'from = "{origin}"')
    rows = [["t", *(column for column, *_ in table.values())]]
    for values in zip(time, *(row[3] for row in table.values()), strict=True):
        rows.append([repr(float(value)) for value in values])
    (folder / "lab.csv").write_text("\n".join(",".join(row) for row in rows), encoding="utf-8")
    path = folder / "lab.toml"
    path.write_text("\n".join([*header, extra]), encoding="utf-8")
    return path
