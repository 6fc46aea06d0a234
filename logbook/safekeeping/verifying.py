"""Is everything still as it was written down? Of an open book, or of a backup."""

from __future__ import annotations

import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from logbook.errors import NotABackup, StoreError
from logbook.safekeeping.archive import damage_of, read_manifest, unpack
from logbook.safekeeping.manifest import Manifest, Member
from logbook.safekeeping.record_checks import Problem, book_digest, check_against, check_records
from logbook.store import Store
from logbook.store.migrations import NEWEST

DATA = "data/"
RESTORE_BOOK = (
    "Keep this folder as it is, and restore the last backup into a new one: "
    "logbook --book NEW-FOLDER restore FILE. Runs logged since then can be taken from this book "
    "with: logbook export runs.csv"
)
OTHER_BACKUP = "Do not rely on this file: make a new backup, or restore an earlier one."


@dataclass(frozen=True, slots=True)
class Verified:
    """What a check of a book or of a backup found.

    ``tables`` holds the rows looked at, by table; ``files`` the members of a backup whose
    checksums were compared (0 for a book).
    """

    what: str
    place: str
    tables: dict[str, int]
    files: int
    problems: tuple[Problem, ...]
    notes: tuple[str, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems

    @property
    def advice(self) -> str | None:
        """What to do; None where nothing is wrong."""
        if self.whole:
            return None
        return RESTORE_BOOK if self.what == "book" else OTHER_BACKUP

    def finding(self) -> str:
        """One sentence."""
        runs = self.tables.get("runs", 0)
        past = self.tables.get("run_history", 0)
        if not self.whole:
            count = len(self.problems)
            things = "something is" if count == 1 else f"{count} things are"
            return f"The {self.what} {self.place} is damaged: {things} wrong."
        held = f"{runs:,} runs and {past:,} earlier versions"
        if self.what == "book":
            return f"The book {self.place} is whole: {held} say what was written down."
        return f"The backup {self.place} is whole: {self.files:,} files, {held}."

    def as_json(self) -> dict[str, Any]:
        """Plain values for ``--json``."""
        return {**asdict(self), "whole": self.whole, "advice": self.advice}


def verify_book(store: Store, *, against: Path | None = None) -> Verified:
    """Read every stored value of an open book and hold it against its mark.

    The database checks its own checksums as it reads; the content of every run and of every
    earlier version is marked anew and compared; versions must follow one another.

    Parameters
    ----------
    against
        An earlier backup of this book: all that it holds must still be there.

    Raises
    ------
    NotABackup
        The file is no backup of this book, or damaged.
    """
    earlier = None if against is None else _sound(against)
    with tempfile.TemporaryDirectory(prefix="logbook-") as place:
        now, then = Path(place) / "now", Path(place) / "then"
        now.mkdir()
        try:
            tables = store.snapshot(now)
        except StoreError as cause:
            return Verified("book", store.place, {}, 0, (Problem("database", cause.message),))
        problems = check_records(now)
        if against is None or earlier is None:
            return Verified("book", store.place, tables, 0, problems)
        if earlier.book.mark != book_digest(now):
            raise NotABackup(f"{against} is a backup of another book.", "name a backup of this one")
        unpack(against, _tables_of(earlier), then)
        problems += check_against(then / "data", now)
        note = f"Held against the backup of {earlier.made_at:%Y-%m-%d %H:%M} UTC."
        return Verified("book", store.place, tables, 0, problems, (note,))


def _sound(path: Path) -> Manifest:
    manifest = read_manifest(path)
    if damage := damage_of(path, manifest):
        raise NotABackup(f"{path} is damaged: {damage[0][0]} {damage[0][1]}.", "use another backup")
    return manifest


def _tables_of(manifest: Manifest) -> list[Member]:
    return [member for member in manifest.members if member.name.startswith(DATA)]


def verify_backup(path: Path) -> Verified:
    """Check every byte of a backup, and the records within as those of a book.

    Raises
    ------
    NotABackup
        The file is something else, or so damaged that it does not say what it holds.
    BookNewer
        The backup is of a newer kind than this version knows.
    """
    manifest = read_manifest(path)
    tables, files = dict(manifest.tables), len(manifest.members)
    if damage := damage_of(path, manifest):
        problems = tuple(
            Problem(where, f"{'the file' if where == 'archive' else 'this part'} {says}")
            for where, says in damage
        )
        return Verified("backup", str(path), tables, files, problems)
    if manifest.schema_version > NEWEST:
        note = "It is of a newer version: its checksums agree, its runs were not looked into."
        return Verified("backup", str(path), tables, files, (), (note,))
    with tempfile.TemporaryDirectory(prefix="logbook-") as place:
        unpack(path, _tables_of(manifest), Path(place))
        problems = check_records(Path(place) / "data")
    return Verified("backup", str(path), tables, files, problems)
