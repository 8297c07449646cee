# SPDX-License-Identifier: MIT
"""The door for output files: each is written whole, or the old one stays as it was."""

import os
import uuid
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path

from fea.errors import FileError, Problem


@contextmanager
def replacing(path: str | Path) -> Iterator[Path]:
    """Give a temporary path beside ``path`` to write to; it takes the name when all went well.

    Args:
        path: the file to make or replace; its folder must exist.

    Yields:
        A path in the same folder with the same suffix.

    Raises:
        FileError: the folder is missing or cannot be written to.

    Example:
        >>> import tempfile
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     with replacing(Path(folder, "a.txt")) as draft:
        ...         _ = draft.write_text("whole")
        ...     Path(folder, "a.txt").read_text(), len(list(Path(folder).iterdir()))
        ('whole', 1)
    """
    path = Path(path)
    if not path.parent.is_dir():
        raise FileError(path, [Problem("", f"the folder '{path.parent}' does not exist; make it")])
    draft = path.with_name(f".{path.stem}-{uuid.uuid4().hex[:8]}{path.suffix}")
    try:
        yield draft
        os.replace(draft, path)
    except OSError as error:
        raise FileError(path, [Problem("", f"cannot be written ({error.strerror})")]) from error
    finally:
        draft.unlink(missing_ok=True)


def made(folder: str | Path) -> Path:
    """The path of a folder, which is made if it is missing.

    Raises:
        FileError: it cannot be made.
    """
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(folder, [Problem("", f"cannot be made ({error.strerror})")]) from None
    return folder


def write_together(
    folder: str | Path, stem: str, contents: Mapping[str, str | bytes]
) -> list[Path]:
    """Write files that belong together: all of them whole, or none.

    Args:
        folder: made if missing; what else is in it stays.
        stem: name of every file.
        contents: suffix, such as "json", to text or bytes.

    Returns:
        Their paths, in order.

    Raises:
        FileError: the folder or a file cannot be written.

    Example:
        >>> import tempfile
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     [path.name for path in write_together(folder, "a", {"json": "{}", "csv": ""})]
        ['a.json', 'a.csv']
    """
    folder = made(folder)
    paths = [folder / f"{stem}.{suffix}" for suffix in contents]
    with ExitStack() as drafts:  # all are written before the first takes its place
        for path, content in zip(paths, contents.values(), strict=True):
            draft = drafts.enter_context(replacing(path))
            draft.write_bytes(content if isinstance(content, bytes) else content.encode())
    return paths
