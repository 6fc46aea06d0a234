"""Files that a reader sees whole or not at all, and that a loss of power leaves whole."""

from __future__ import annotations

import os
import re
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from logbook.errors import IntakeError

_NOT_IN_NAMES = re.compile(r'[\x00-\x1f<>:"/\\|?*]')


@contextmanager
def atomic_write(path: Path, *, ending: str = "") -> Iterator[Path]:
    """Give a place beside ``path`` to write to, and put it in place at the end.

    Parameters
    ----------
    path
        The file to make or replace.
    ending
        Of the file written meanwhile, for libraries that go by it.

    Raises
    ------
    IntakeError
        The file cannot be written; what stood there before is untouched.
    """
    part = path.with_name(f".{path.name}.part{ending}")
    try:
        with _put_in_place(part, path):
            yield part
    except OSError as cause:
        raise IntakeError(
            f"{path} cannot be written: {cause.strerror or cause}.", "name another place"
        ) from cause


def write_atomically(path: Path, content: bytes, *, mode: int = 0o666) -> None:
    """Make or replace a small file.

    Raises
    ------
    OSError
        It cannot be written; what stood there before is untouched.
    """
    # A name of its own: two may write the same file at the same moment.
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    with _put_in_place(part, path):
        # Made with its permissions: a secret must not be readable for one moment.
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
        with open(handle, "wb") as file:  # noqa: PTH123 - an open handle
            file.write(content)


@contextmanager
def _put_in_place(part: Path, path: Path) -> Iterator[None]:
    try:
        yield
        to_disk(part)
        part.replace(path)
        to_disk(path.parent)
    except BaseException:
        # What stands in the way of writing may stand in the way of this too.
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise


def to_disk(path: Path) -> None:
    """Wait until the disk has a file, or the names in a folder: a loss of power keeps it then."""
    if not path.is_dir():
        with path.open("rb+") as file:
            os.fsync(file.fileno())
        return
    # Some systems cannot open a folder, or not wait for it: the file stands there all the same.
    with suppress(OSError):
        opened = os.open(path, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)


def name_on_disk(name: str) -> str:
    """A file's name without what some file systems refuse in names."""
    return _NOT_IN_NAMES.sub("_", name)
