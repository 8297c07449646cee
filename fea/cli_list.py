# SPDX-License-Identifier: MIT
"""`stanchion list`: what is shipped, and where each name goes."""

from collections.abc import Sequence

from fea.cli import MET, show
from fea.cli_options import DEFAULT_CASES, Debug
from fea.device.changefile import read_change
from fea.device.reader import Readable, read_device
from fea.loadcase.reader import read_load_set
from fea.material.library import read_library
from fea.shipped import resolve, shipped_names
from fea.study.rig import rigs
from fea.tables import text_table
from fea.wearer import read_wearer

PURPOSES = {
    "verdict": "holds",
    "step": "a step",
    "proof": "no yield",
    "ultimate": "no break",
    "cyclic": "lasts",
}


def list_shipped(*, debug: Debug = False) -> int:
    """List shipped devices, changes, load sets, wearers and materials, and the bench rigs.

    Example: stanchion list
    """
    for title, headers, rows in _shipped():
        show(f"{title}\n{text_table(headers, rows)}\n")
    return MET


def _shipped() -> list[tuple[str, Sequence[str], Sequence[Sequence[object]]]]:
    """Heading, titles of columns and rows of each kind of what is shipped."""
    devices = {name: read_device(name) for name in shipped_names("meshes")}
    loads = {name: read_load_set(name) for name in shipped_names("loadcases")}
    wearers = {n: read_wearer(resolve("wearers", n)) for n in shipped_names("wearers")}
    return [
        ("Devices, for stanchion check NAME and stanchion bench NAME",
         ("name", "made for", "what it is"),
         [(name, _fits(device), device.title) for name, device in devices.items()]),
        ("Changes, for stanchion compare DEVICE NAME",
         ("name", "what it does"),
         [(name, read_change(name).title) for name in shipped_names("changes")]),
        (f"Load sets, for --cases NAME ({DEFAULT_CASES} if left out) or --step NAME",
         ("name", "asks", "what it is"),
         [(name, PURPOSES[each.purpose], each.title) for name, each in loads.items()]),
        ("Wearers, for --wearer NAME",
         ("name", "mass, kg", "height, mm", "leg", "who it is"),
         [(name, each.mass_kg, each.height_mm, each.side, each.name or "-")
          for name, each in wearers.items()]),
        ("Materials, for device files",
         ("name", "kind", "what it is"),
         [(name, item.kind, item.title) for name, item in sorted(read_library().items())]),
        ("Bench rigs, for stanchion bench DEVICE --rig NAME",
         ("name", "how the device is held"),
         [(name, rig.title) for name, rig in rigs().items()]),
    ]  # fmt: skip


def _fits(device: Readable) -> str:
    """Whom a device is for: a mesh is never resized, a recipe is."""
    side = getattr(device, "side", None)
    if side is not None:
        return f"one {side} leg, never resized"
    side = getattr(getattr(device, "content", None), "side", None)
    return f"any limb, {side or 'either'} leg"
