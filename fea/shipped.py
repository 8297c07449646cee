# SPDX-License-Identifier: MIT
"""Finds shipped content: devices, changes, wearers and load sets, in a checkout or a wheel."""

from pathlib import Path

from fea.errors import InputError

AUTO_STEP, TYPICAL_STEP = "auto", "typical-step"
"""The word for the step that suits the loads, and the load set that mostly does."""

_FOLDERS = {
    "meshes": "meshes",
    "changes": "meshes/changes",
    "wearers": "meshes/wearers",
    "loadcases": "loadcases",
}
_PACKAGE = Path(__file__).parent


def shipped_names(kind: str) -> tuple[str, ...]:
    """Sorted names of the shipped content of a kind.

    Args:
        kind: "meshes" (devices), "changes", "wearers" or "loadcases".

    Raises:
        InputError: an unknown kind.
    """
    return tuple(sorted(path.stem for path in _folder(kind).glob("*.toml")))


def shipped_path(kind: str, name: str) -> Path:
    """The file of shipped content; raises `InputError` that lists the names there are."""
    path = _folder(kind) / f"{name}.toml"
    if name not in shipped_names(kind):
        known = ", ".join(shipped_names(kind)) or "none"
        raise InputError(f"no file and no shipped name '{name}' in {kind}; shipped are: {known}")
    return path


def resolve(kind: str, name_or_path: str | Path) -> Path:
    """The file meant by a shipped name or by a path.

    A name without a folder and a suffix is a shipped one; everything else is a path.

    Args:
        kind: "meshes" (devices), "changes", "wearers" or "loadcases".
        name_or_path: what the user wrote.

    Raises:
        InputError: there is no such file; the shipped names are listed.
    """
    path = Path(name_or_path)
    if isinstance(name_or_path, str) and path.name == name_or_path and not path.suffix:
        return shipped_path(kind, name_or_path)
    if not path.is_file():
        known = ", ".join(shipped_names(kind)) or "none"
        raise InputError(f"there is no file {path}; give a path, or a shipped name: {known}")
    return path


def _folder(kind: str) -> Path:
    if kind not in _FOLDERS:
        raise InputError(f"unknown kind of content '{kind}'; use one of {', '.join(_FOLDERS)}")
    installed = _PACKAGE / "_content"
    root = installed if installed.is_dir() else _PACKAGE.parent
    return root / _FOLDERS[kind]
