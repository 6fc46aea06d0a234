"""A file that a reader sees whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from logbook.errors import IntakeError


@contextmanager
def written_whole(path: Path, *, ending: str = "") -> Iterator[Path]:
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
        yield part
        to_disk(part)
        part.replace(path)
        to_disk(path.parent)
    except OSError as cause:
        _taken_away(part)
        raise IntakeError(
            f"{path} cannot be written: {cause.strerror or cause}.", "name another place"
        ) from cause
    except BaseException:
        _taken_away(part)
        raise


def _taken_away(part: Path) -> None:
    # What stands in the way of writing may stand in the way of this too: the first error counts.
    with suppress(OSError):
        part.unlink(missing_ok=True)


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
