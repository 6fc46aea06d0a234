"""The note that a running service leaves in the book's folder: where it is, and its token."""

from __future__ import annotations

import json
import os
import secrets
from dataclasses import asdict, dataclass
from pathlib import Path

from logbook.atomic_files import write_atomically

FILE_NAME = "service.json"


@dataclass(frozen=True, slots=True)
class Notice:
    """Where a service answers, and the token that lets commands of this user in."""

    address: str
    """Such as ``http://127.0.0.1:8750``."""
    process_id: int
    token: str


def new_notice(address: str) -> Notice:
    """A notice of this process, with a token that nobody can guess."""
    return Notice(address, os.getpid(), secrets.token_urlsafe(32))


def write_notice(folder: Path, notice: Notice) -> None:
    """Leave the notice in the book's folder, readable by this user alone.

    Raises
    ------
    OSError
        The folder cannot be written.
    """
    content = json.dumps(asdict(notice)).encode()
    write_atomically(folder / FILE_NAME, content, mode=0o600)


def read_notice(folder: Path) -> Notice | None:
    """The notice in a book's folder; None where there is none that can be read."""
    try:
        written = json.loads((folder / FILE_NAME).read_text(encoding="utf-8"))
        return Notice(str(written["address"]), int(written["process_id"]), str(written["token"]))
    except (OSError, ValueError, TypeError, KeyError):
        return None


def remove_notice(folder: Path, notice: Notice) -> None:
    """Take this notice away; one that another service has left meanwhile stays."""
    if read_notice(folder) == notice:
        (folder / FILE_NAME).unlink(missing_ok=True)
