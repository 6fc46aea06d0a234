"""A file that a reader sees whole or not at all."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
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
        part.replace(path)
    except OSError as cause:
        part.unlink(missing_ok=True)
        raise IntakeError(
            f"{path} cannot be written: {cause.strerror or cause}.", "name another place"
        ) from cause
