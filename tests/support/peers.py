# SPDX-License-Identifier: MIT
"""Other packages, asked for the same answer: their installation and the child process they run in.

The packages of tests/peers/requirements.txt go into a folder of their own below build/, once, next
to those of the environment that runs the tests. A script of tests/peers reads a question from one
JSON file and writes its answer to another.
"""

import fcntl
import hashlib
import json
import os
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import fea
from fea.structure.loads import nodal_forces

ROOT = Path(__file__).resolve().parents[2]
REQUIREMENTS = ROOT / "tests/peers/requirements.txt"
INSTALL_SECONDS, ANSWER_SECONDS = 900, 300


@cache
def peer_folder() -> Path | str:
    """Folder of the installed packages, or the reason why there is none."""
    digest = hashlib.sha256(REQUIREMENTS.read_bytes() + sys.version.encode()).hexdigest()[:12]
    folder = ROOT / "build/peers" / digest
    folder.parent.mkdir(parents=True, exist_ok=True)
    with (folder.parent / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)  # one worker installs, the others wait for it
        if folder.exists():
            return folder
        with tempfile.TemporaryDirectory(dir=folder.parent) as fresh:
            reason = _install(Path(fresh) / "packages")
            if not reason:
                (Path(fresh) / "packages").rename(folder)
    return reason or folder


def _install(folder: Path) -> str:
    """The reason why it failed; empty when it went well."""
    command = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--require-hashes"]
    command += ["--only-binary", ":all:", "--retries", "1", "--disable-pip-version-check"]
    command += ["--target", str(folder), "--requirement", str(REQUIREMENTS)]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=INSTALL_SECONDS)
    except subprocess.TimeoutExpired:
        return f"the installation took longer than {INSTALL_SECONDS} s"
    if done.returncode == 0:
        return ""
    errors = [line for line in done.stderr.splitlines() if line.startswith("ERROR")]
    return errors[-1] if errors else f"pip ended with {done.returncode}"


def ask(script: str, question: object) -> Any:
    """The answer of a script of tests/peers; skips the test where its package cannot be had.

    Raises:
        AssertionError: the script was installed and failed.
    """
    folder = peer_folder()
    if isinstance(folder, str):
        pytest.skip(f"the peers could not be installed: {folder}")
    with tempfile.TemporaryDirectory() as place:
        asked, answered = Path(place) / "question.json", Path(place) / "answer.json"
        asked.write_text(json.dumps(question, default=_plain), encoding="utf-8")
        libraries = folder / "openseespylinux/lib"  # its own BLAS, which it does not find itself
        path = {"PYTHONPATH": str(folder), "LD_LIBRARY_PATH": str(libraries)}
        command = [sys.executable, "-W", "ignore", str(REQUIREMENTS.parent / script)]
        done = subprocess.run(
            [*command, str(asked), str(answered)], env={**os.environ, **path},
            capture_output=True, text=True, timeout=ANSWER_SECONDS,
        )  # fmt: skip
        last = (done.stderr.strip().splitlines() or [""])[-1]
        if done.returncode == 3:  # the script's own word that its package does not load here
            pytest.skip(f"{script}: {last}")
        assert done.returncode == 0 and answered.exists(), f"{script}: {done.stderr[-2000:]}"
        return json.loads(answered.read_text(encoding="utf-8"))


def _plain(value: object) -> object:
    if isinstance(value, np.generic | np.ndarray):
        return value.tolist()
    raise TypeError(f"{type(value)} does not go into JSON")


def describe(model: fea.Model, case: str = "case") -> dict:
    """A model in plain lists: nodes, cells with sections, held degrees of freedom, nodal forces."""
    mesh = model.mesh
    shells, struts = [], []
    for zone, section in model.sections.items():
        cells = mesh.zone_cells(zone)
        if isinstance(section, fea.ShellSection):
            assert section.offset == 0.0, "a peer's shell has no offset"
            shells.append({"triangles": cells, **_wall(section)})
        else:
            struts.append({"lines": cells, **_bar(section)})
    held = [
        (node, dof)
        for support in model.supports
        for node in mesh.place(support.place)
        for dof in support.components
    ]
    assert all(support.value == 0.0 for support in model.supports)
    forces = sum(nodal_forces(load, mesh) for load in model.cases[case])
    return {"points": mesh.points, "shells": shells, "struts": struts,
            "held": sorted(set(held)), "forces": forces}  # fmt: skip


def _wall(section: fea.ShellSection) -> dict:
    material = section.material
    if isinstance(material, fea.Laminate):
        ply = material.plies[0]
        return {"angles_deg": material.angles_deg, "thicknesses": material.thicknesses,
                "ply": [ply.e1, ply.e2, ply.nu12, ply.g12, *ply.transverse_moduli],
                "direction": section.direction}  # fmt: skip
    return {"youngs_modulus": material.youngs_modulus, "poisson_ratio": material.poisson_ratio,
            "thickness": section.thickness}  # fmt: skip


def _bar(section: fea.StrutSection) -> dict:
    names = ("area", "i_y", "i_z", "j", "up", "shear_area_y", "shear_area_z",
             "offset_start", "offset_end")  # fmt: skip
    bar = {name: getattr(section, name) for name in names}
    return {**bar, "youngs_modulus": section.material.youngs_modulus,
            "shear_modulus": section.material.shear_modulus}  # fmt: skip
