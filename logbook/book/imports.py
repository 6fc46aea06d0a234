"""What came in by file: the file as it came, the run of each row, and taking it all back."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

import polars as pl

from logbook.atomic_files import atomic_write, name_on_disk
from logbook.book.runs import now_at
from logbook.errors import DocumentNotFound, RunConflict, RunNotFound, StoreError
from logbook.runs.content import MADE_PREFIX
from logbook.runs.intake import Parsed, RawSheet
from logbook.store import Store, Stored

COLLECTION = "imports"
FOLDER = "imports"
ROWS = "rows.parquet"
ASKED_AT_ONCE = 2_000


@dataclass(frozen=True, slots=True)
class Import:
    """One file that came in: when, how much of it, how it was read, and whether it still stands."""

    key: str
    file: str
    at: str
    read_as: str | None
    rows: int
    added: int
    amended: int
    rejected: int
    taken_back: bool = False

    @property
    def moment(self) -> datetime:
        """When it came in, in the shop's time."""
        return datetime.fromisoformat(self.at)

    def as_json(self) -> dict[str, Any]:
        """Plain values for ``--json``."""
        return {name: getattr(self, name) for name in self.__slots__}


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a run came from: a row of a worksheet of a file."""

    key: str
    file: str
    worksheet: str | None
    row: int


def imports(store: Store) -> tuple[Import, ...]:
    """Every file that came in, the first one first."""
    return tuple(_from(each.key, each.content) for each in store.documents(COLLECTION))


def _from(key: str, content: Mapping[str, Any]) -> Import:
    told = {name: content[name] for name in Import.__slots__ if name in content}
    return Import(**{**told, "key": key})


def keep_rows(store: Store, raw: RawSheet, parsed: Parsed, stored: Stored) -> str | None:
    """Keep a file as it came, with the run of each row, while the runs are about to be stored.

    Returns the key of the import; None where nothing of the file is new, or the book has no folder.
    """
    if store.folder is None or not stored.added + stored.amended:
        return None
    data = raw.path.read_bytes()
    stamp = now_at(store).strftime("%Y%m%d-%H%M%S")
    key = f"{stamp}-{hashlib.sha256(data).hexdigest()[:8]}"
    folder = store.folder / FOLDER / key
    folder.mkdir(parents=True, exist_ok=True)
    places = parsed.good_positions
    worksheets = raw.worksheets if raw.worksheets is not None else pl.Series([raw.worksheet])
    rows = pl.DataFrame(
        {
            "run_ref": parsed.good["run_ref"],
            "worksheet": worksheets.gather(places)
            if len(worksheets) > 1
            else pl.repeat(raw.worksheet, parsed.good.height, dtype=pl.String, eager=True),
            "row": raw.numbers.gather(places),
            "added": _added(store, parsed, stored),
        }
    )
    with atomic_write(folder / ROWS) as part:
        rows.write_parquet(part)
    with atomic_write(folder / name_on_disk(raw.path.name)) as part:
        part.write_bytes(data)
    return key


def keep_import(store: Store, key: str, raw: RawSheet, stored: Stored, rejected: int) -> None:
    """Keep what became of a file whose rows were kept."""
    said = Import(
        key=key,
        file=raw.path.name,
        at=now_at(store).isoformat(sep=" "),
        read_as=raw.read_as,
        rows=raw.rows,
        added=stored.added,
        amended=stored.amended,
        rejected=rejected,
    )
    store.put_document(COLLECTION, key, said.as_json(), source=raw.path.name, about=raw.path.name)


def _added(store: Store, parsed: Parsed, stored: Stored) -> pl.Series:
    """Which runs the book did not have before."""
    refs = parsed.good["run_ref"]
    if stored.added == len(refs):
        return pl.repeat(value=True, n=len(refs), eager=True)
    there: set[str] = set()
    for start in range(0, len(refs), ASKED_AT_ONCE):
        there |= set(store.runs(refs=refs[start : start + ASKED_AT_ONCE].to_list())["run_ref"])
    return ~refs.is_in(list(there))


def rows_of(store: Store, key: str) -> pl.DataFrame:
    """The rows of an import: ``run_ref, worksheet, row, added``.

    Raises
    ------
    StoreError
        They are not in the book's folder any more.
    """
    path = _folder(store, key) / ROWS
    if not path.is_file():
        raise StoreError(
            f"The rows of the import {key} are not in the book's folder any more.",
            "restore a backup, or withdraw the runs one by one",
        )
    return pl.read_parquet(path)


def _folder(store: Store, key: str) -> Path:
    if store.folder is None:
        raise StoreError("This book has no folder for files.")
    return store.folder / FOLDER / key


def kept_file(store: Store, key: str) -> Path:
    """Where the file of an import lies, as it came.

    Raises
    ------
    DocumentNotFound
        There is no such import.
    """
    said = _one(store, key)
    return _folder(store, key) / name_on_disk(said.file)


def _one(store: Store, key: str) -> Import:
    for said in imports(store):
        if said.key == key:
            return said
    raise DocumentNotFound(
        f"There is no import {key} in the book.", "see which there are: logbook imports"
    )


def origin_of(store: Store, run_ref: str) -> Origin | None:
    """The file, worksheet and row that a run came from; None where it came by another way."""
    for said in reversed(imports(store)):
        path = _folder(store, said.key) / ROWS
        if not path.is_file():
            continue
        found = pl.scan_parquet(path).filter(pl.col("run_ref") == run_ref).collect()
        if found.height:
            worksheet, row = found.select("worksheet", "row").row(0)
            return Origin(said.key, said.file, worksheet, row)
    return None


def take_back(store: Store, key: str, *, why: str, source: str) -> tuple[Import, int]:
    """Withdraw every run that an import added; how many there were.

    Runs that it amended keep their correction; runs withdrawn since are passed over.

    Raises
    ------
    DocumentNotFound
        There is no such import.
    """
    said = _one(store, key)
    refs = rows_of(store, key).filter("added")["run_ref"]
    withdrawn = 0
    for run_ref in refs:
        try:
            store.withdraw(run_ref, why=why, source=source)
        except (RunConflict, RunNotFound):
            continue
        withdrawn += 1
    back = replace(said, taken_back=True)
    store.put_document(COLLECTION, key, back.as_json(), source=source, about=said.file, why=why)
    return back, withdrawn


def with_new_references(store: Store, parsed: Parsed) -> tuple[Parsed, tuple[str, ...]]:
    """Runs of rows that were taken back get references of their own, so that they come in again.

    Those whose reference is the sheet's own cannot: they are told.
    """
    back = [said.key for said in imports(store) if said.taken_back]
    if not back:
        return parsed, ()
    times: dict[str, int] = {}
    for key in back:
        for run_ref in rows_of(store, key).filter("added")["run_ref"]:
            bare = run_ref.partition("~")[0]
            times[bare] = times.get(bare, 0) + 1
    refs = parsed.good["run_ref"]
    again = [f"{ref}~{times[ref]}" if _made(ref) and ref in times else ref for ref in refs]
    own = sum(not _made(ref) and ref in times for ref in refs)
    runs = "1 run has" if own == 1 else f"{own} runs have"
    notes = (
        f"{runs} a reference that was taken back with an earlier import and does not come in: "
        "give it another reference",
    )
    good = parsed.good.with_columns(pl.Series("run_ref", again, dtype=pl.String))
    return replace(parsed, good=good), notes if own else ()


def _made(run_ref: str) -> bool:
    return run_ref.startswith(MADE_PREFIX)
