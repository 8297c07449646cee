# SPDX-License-Identifier: MIT
"""The wheel, installed in an environment of its own, finds its content from anywhere."""

import os
import subprocess
import sys
import sysconfig
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow


def run(*command: object, cwd: Path) -> str:
    """Run a command away from the checkout; its output, or a failure that shows both streams."""
    hidden = {"PYTHONPATH", "VIRTUAL_ENV"}
    env = {key: value for key, value in os.environ.items() if key not in hidden}
    done = subprocess.run(
        [str(word) for word in command], cwd=cwd, env=env, capture_output=True, text=True
    )
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@pytest.fixture(scope="module")
def wheel(root, tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheel")
    run(sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", folder, cwd=root)
    return next(folder.glob("*.whl"))


@pytest.fixture(scope="module")
def environment(wheel, tmp_path_factory):
    """A new virtual environment with the wheel; the dependencies are lent by this one.

    A path file lends them without this environment's own path files, so the checkout stays unseen.
    """
    folder = tmp_path_factory.mktemp("environment")
    run(sys.executable, "-m", "venv", "--without-pip", folder, cwd=folder)
    site = Path(
        run(
            folder / "bin/python", "-c", "import site; print(site.getsitepackages()[0])", cwd=folder
        ).strip()
    )
    (site / "lent.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    install = ["install", "--quiet", "--no-deps", "--no-index", wheel]
    run(sys.executable, "-m", "pip", "--python", folder / "bin/python", *install, cwd=folder)
    return folder


def test_the_wheel_holds_the_package_its_content_and_its_licence(root, wheel):
    names = set(zipfile.ZipFile(wheel).namelist())
    assert {"fea/py.typed", "fea/__init__.py", "fea/sources.toml"} <= names
    assert any(name.endswith("licenses/LICENSE") for name in names)
    assert all(name.startswith(("fea/", "stanchion-")) for name in names)
    tracked = run("git", "ls-files", "meshes", "loadcases", cwd=root).split("\n")[:-1]
    assert tracked
    assert {f"fea/_content/{name}" for name in tracked} <= names


def test_shipped_content_is_found_away_from_the_checkout(environment, tmp_path):
    code = (
        "import fea, fea.shipped as s\n"
        "print(fea.__file__)\n"
        "for kind in ('meshes', 'loadcases', 'wearers'):\n"
        "    for name in s.shipped_names(kind):\n"
        "        path = s.shipped_path(kind, name)\n"
        "        assert path.exists(), path\n"
        "        print(kind, name, path)\n"
    )
    lines = run(environment / "bin/python", "-c", code, cwd=tmp_path).splitlines()
    assert all(str(environment) in line for line in lines)
    assert {line.split()[0] for line in lines[1:]} == {"meshes", "loadcases", "wearers"}


def test_a_shipped_device_is_judged_by_the_installed_package(environment, tmp_path):
    code = (
        "import fea\n"
        "wearer = fea.Wearer(mass_kg=35, height_mm=1410, side='left')\n"
        "result = fea.assess(fea.read_device('ribbed-polypropylene-child'), wearer)\n"
        "fea.report(result, 'out')\n"
    )
    run(environment / "bin/python", "-c", code, cwd=tmp_path)
    assert (tmp_path / "out/report.html").stat().st_size > 0


def test_the_installed_command_lists_what_is_shipped(environment, tmp_path):
    assert "ribbed-polypropylene-child" in run(environment / "bin/stanchion", "list", cwd=tmp_path)
