"""The whole book into one file, and back."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Any

import polars as pl

from logbook.atomic_files import atomic_write, to_disk
from logbook.errors import BookNewer, BookReadOnly, NotABackup, NotABook, StoreError
from logbook.safekeeping.archive import damage_of, read_manifest, safe_parts, unpack, write_archive
from logbook.safekeeping.manifest import BackedUpBook, Manifest
from logbook.safekeeping.record_checks import book_digest
from logbook.store import FOLDERS, Store
from logbook.store.migrations import NEWEST
from logbook.store.settings import FILE_NAME as SETTINGS_NAME
from logbook.store.snapshot import book_from_snapshot

DATA = "data"
RESTORING = ".restoring"


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A backup that was made; ``notes`` say which earlier one it took the place of."""

    file: str
    bytes: int
    manifest: Manifest
    notes: tuple[str, ...] = ()

    @property
    def runs(self) -> int:
        """Runs in the backup, without those withdrawn."""
        return self.manifest.tables["runs"]

    def files_in(self, folder: str) -> int:
        """How many files of a folder the backup holds."""
        return sum(member.name.startswith(f"{folder}/") for member in self.manifest.members)

    def as_json(self) -> dict[str, Any]:
        """Plain values for ``--json``."""
        about = self.manifest
        return {
            "file": self.file,
            "bytes": self.bytes,
            "made_at": about.made_at.isoformat(),
            "schema_version": about.schema_version,
            "runs": self.runs,
            "tables": dict(about.tables),
            "photos": self.files_in("photos"),
            "designs": self.files_in("designs"),
            "notes": list(self.notes),
        }


@dataclass(frozen=True, slots=True)
class Restored:
    """A book that was made from a backup."""

    book: str
    manifest: Manifest
    steps: tuple[int, ...]
    notes: tuple[str, ...] = ()

    @property
    def runs(self) -> int:
        """Runs in the book, without those withdrawn."""
        return self.manifest.tables["runs"]

    def as_json(self) -> dict[str, Any]:
        """Plain values for ``--json``."""
        about = self.manifest
        return {
            "book": self.book,
            "made_at": about.made_at.isoformat(),
            "runs": self.runs,
            "tables": dict(about.tables),
            "brought_up_to_date_by": list(self.steps),
            "notes": list(self.notes),
        }


def back_up(store: Store, path: Path) -> BackedUp:
    """Write the whole book to one file, as of one moment; others may go on writing.

    Parameters
    ----------
    path
        File to write. A backup that stands there is replaced, as a whole or not at all; any
        other file is refused.

    Raises
    ------
    StoreError, IntakeError
        The book cannot be read, or the file not be written.
    """
    if path.is_dir():
        raise NotABackup(f"{path} is a folder; a backup is one file.", f"name {path / 'book.zip'}")
    earlier = _earlier_backup(path) if path.exists() else None
    with tempfile.TemporaryDirectory(prefix="logbook-") as place:
        tables = store.snapshot(Path(place))
        about = _about(store, Path(place), tables)
        files = [(f"{DATA}/{name}.parquet", Path(place) / f"{name}.parquet") for name in tables]
        if store.folder is not None:
            files += _files_of(store.folder)
        with atomic_write(path) as part:
            manifest = write_archive(part, about, files)
            # Read back before it takes its name: a backup that cannot be read is none.
            if damage := damage_of(part, manifest):
                raise StoreError(
                    f"The backup did not reach the disk as written: {damage[0][0]} {damage[0][1]}.",
                    "name a file on another disk",
                )
            size = part.stat().st_size
    notes = () if earlier is None else (_replaced(path, earlier, about),)
    return BackedUp(str(path), size, manifest, notes)


def restore(path: Path, place: str) -> Restored:
    """Make a book of a backup, in a new or empty folder.

    Every checksum is checked first. The book is made beside the folder and moved into place
    whole, so that a restore that is cut short leaves nothing there.

    Parameters
    ----------
    path
        The backup.
    place
        The folder of the new book.

    Raises
    ------
    NotABackup
        The file is no backup, or damaged.
    BookNewer
        The backup is of a newer version.
    NotABook
        The folder holds something already.
    BookReadOnly
        The folder cannot be made.
    """
    book = Path(place).expanduser().resolve()
    manifest = sound_manifest(path)
    _refuse_full_folder(book, place)
    try:
        book.parent.mkdir(parents=True, exist_ok=True)
        left = sorted(book.parent.glob(f".{book.name}.*{RESTORING}"))
        making = Path(tempfile.mkdtemp(prefix=f".{book.name}.", suffix=RESTORING, dir=book.parent))
    except OSError as cause:
        raise _cannot_write(place, cause) from cause
    try:
        whole = _made(path, manifest, making)
        _move_into_place(whole, book)
    except OSError as cause:
        raise _cannot_write(place, cause) from cause
    finally:
        shutil.rmtree(making, ignore_errors=True)
    steps = tuple(range(manifest.schema_version + 1, NEWEST + 1))
    notes = tuple(
        f"An earlier restore was cut short and left {each}; that folder can be deleted."
        for each in left
    )
    return Restored(place, manifest, steps, notes)


def sound_manifest(path: Path) -> Manifest:
    """The manifest of an archive of which every byte was checked.

    Raises
    ------
    NotABackup, BookNewer
        The file cannot be used; the message says why.
    """
    manifest = read_manifest(path)
    if damage := damage_of(path, manifest):
        (where, says), more = damage[0], len(damage) - 1
        others = f" (and {more} more)" if more else ""
        raise NotABackup(
            f"{path} is damaged: {where} {says}{others}. Nothing was restored.",
            "restore an earlier backup",
        )
    for member in manifest.members:
        safe_parts(member.name)
    if manifest.schema_version > NEWEST:
        raise BookNewer(
            f"{path} is of a newer version (step {manifest.schema_version}, this version "
            f"knows {NEWEST}). Nothing was restored.",
            "update this program, then restore again",
        )
    return manifest


def _about(store: Store, snapshot: Path, tables: dict[str, int]) -> Manifest:
    steps = pl.read_parquet(snapshot / "migrations.parquet").sort("number")
    return Manifest(
        book=BackedUpBook(mark=book_digest(snapshot), name=store.shop.name),
        made_at=datetime.now(UTC).replace(microsecond=0),
        logbook_version=version("embroidery-logbook"),
        schema_version=int(steps["number"][-1]),
        tables=tables,
    )


def _files_of(book: Path) -> Iterator[tuple[str, Path]]:
    settings = book / SETTINGS_NAME
    if settings.exists():
        yield SETTINGS_NAME, settings
    for name in FOLDERS:
        for folder, _, files in os.walk(book / name):
            for file in sorted(files):
                path = Path(folder) / file
                # Half-written files begin with a dot and end with .part.
                if path.is_file() and not (file.startswith(".") and ".part" in file):
                    yield path.relative_to(book).as_posix(), path


def _earlier_backup(path: Path) -> Manifest:
    try:
        return read_manifest(path)
    except (NotABackup, BookNewer) as cause:
        raise NotABackup(
            f"{path} was not written over: it is not a backup that this version made.",
            "name a new file",
        ) from cause


def _replaced(path: Path, earlier: Manifest, now: Manifest) -> str:
    whose = "" if earlier.book.mark == now.book.mark else f", of another book ({earlier.book.name})"
    runs = earlier.tables["runs"]
    return (
        f"An earlier backup stood in {path} and was replaced: of "
        f"{earlier.made_at:%Y-%m-%d %H:%M} UTC with {runs:,} run{'' if runs == 1 else 's'}{whose}."
    )


def _refuse_full_folder(book: Path, place: str) -> None:
    if book.is_file() or (book.is_dir() and any(book.iterdir())):
        raise NotABook(
            f"{place} is not an empty folder; nothing was restored.",
            "name a folder that does not exist yet, with --book",
        )


def _made(path: Path, manifest: Manifest, making: Path) -> Path:
    """The whole book, ready to be moved; its database made of the archive's tables."""
    whole = making / "book"
    for folder in FOLDERS:
        (whole / folder).mkdir(parents=True)
    tables = [each for each in manifest.members if each.name.startswith(f"{DATA}/")]
    unpack(path, tables, making)
    unpack(path, [each for each in manifest.members if each not in tables], whole)
    rows = book_from_snapshot(making / DATA, whole)
    if rows != dict(manifest.tables):
        raise NotABackup(
            f"{path} holds other numbers of rows than it says. Nothing was restored.",
            "restore an earlier backup",
        )
    for file in whole.iterdir():
        to_disk(file)
    to_disk(whole)
    return whole


def _move_into_place(whole: Path, book: Path) -> None:
    if book.is_dir():
        # Fails where something was put there meanwhile.
        book.rmdir()
    whole.rename(book)
    to_disk(book.parent)


def _cannot_write(place: str, cause: OSError) -> BookReadOnly:
    return BookReadOnly(
        f"A book cannot be restored to {place}: {cause.strerror or cause}.",
        "name another folder with --book",
    )
