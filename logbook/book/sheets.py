"""Run sheets in, and runs out: files to the book and back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from logbook.book.designs import filled
from logbook.book.imports import keep_import, keep_rows, with_new_references
from logbook.book.runs import known_spellings, now_at
from logbook.book.sheet_readings import open_known
from logbook.runs.intake import Parsed, RawSheet, Reject, open_sheet, parse_sheet, write_rejects
from logbook.store import Store, Stored

Progress = Callable[[str, int, int], None]
"""Called with what is being done, rows done and rows in all."""

CONFLICT = (
    "the book already has a run with this reference and other content; "
    "give it a reference of its own, or import with --amend to correct the earlier one"
)


@dataclass(frozen=True, slots=True)
class RejectedRow:
    """One row that was not taken, by the number that a spreadsheet shows."""

    row: int
    column: str
    reason: str


@dataclass(frozen=True, slots=True)
class FileOutcome:
    """What became of one run sheet."""

    file: str
    rows: int
    added: int
    skipped: int
    amended: int
    rejected: int
    rejects_file: str | None
    rejects: tuple[RejectedRow, ...] = ()
    notes: tuple[str, ...] = ()
    held: tuple[str, ...] = ()
    import_key: str | None = None

    def as_json(self) -> dict[str, Any]:
        """Plain values for ``--json``; notes are told of the whole import."""
        report = asdict(self)
        del report["notes"]
        return report


@dataclass(frozen=True, slots=True)
class ImportResult:
    """What became of all the run sheets of one import."""

    files: tuple[FileOutcome, ...]
    dry_run: bool

    @property
    def added(self) -> int:
        """Runs that are new in the book."""
        return sum(outcome.added for outcome in self.files)

    @property
    def skipped(self) -> int:
        """Runs that were there already with the same content."""
        return sum(outcome.skipped for outcome in self.files)

    @property
    def amended(self) -> int:
        """Runs whose earlier version was replaced."""
        return sum(outcome.amended for outcome in self.files)

    @property
    def rejected(self) -> int:
        """Rows that went to a rejects file."""
        return sum(outcome.rejected for outcome in self.files)

    def as_json(self) -> dict[str, Any]:
        """Plain values for ``--json``."""
        notes = [
            f"{outcome.file}: {note}" if len(self.files) > 1 else note
            for outcome in self.files
            for note in outcome.notes
        ]
        counts = {name: getattr(self, name) for name in ("added", "skipped", "amended", "rejected")}
        files = [outcome.as_json() for outcome in self.files]
        return {"files": files, **counts, "dry_run": self.dry_run, "notes": notes}


def import_sheets(
    store: Store,
    paths: Sequence[Path],
    *,
    sheet: str | None = None,
    amend: bool = False,
    dry_run: bool = False,
    progress: Progress | None = None,
) -> ImportResult:
    """Take run sheets into the book, each as a whole.

    All the files are opened before anything is written: one that is not a run sheet stops the
    import with nothing taken. Of each file, good rows are kept and the others go to a rejects
    file beside it (or into the book's folder where that cannot be written).

    Parameters
    ----------
    paths
        CSV, XLSX or Parquet files.
    sheet
        Worksheet to read of XLSX files; the first where not given.
    amend
        Whether a run that differs from the one in the book replaces it.
    dry_run
        Whether to only say what would happen: nothing is written.
    progress
        Told how far the work has come.

    Raises
    ------
    NotARunSheet
        A file is refused whole.
    StoreError
        The book cannot be written; the file being imported left nothing behind.
    """
    own = store.shop.own
    raws = [
        open_known(store, path, sheet=sheet) or open_sheet(path, sheet=sheet, own=own)
        for path in paths
    ]
    outcomes = [
        _import_one(store, raw, amend=amend, dry_run=dry_run, progress=progress) for raw in raws
    ]
    return ImportResult(tuple(outcomes), dry_run)


def _import_one(
    store: Store, raw: RawSheet, *, amend: bool, dry_run: bool, progress: Progress | None
) -> FileOutcome:
    read = parse_sheet(
        raw,
        shop=store.shop,
        known=known_spellings(store),
        now=now_at(store),
        progress=_step(progress, raw, "checking"),
    )
    parsed, told = with_new_references(store, filled(store, read))
    kept: list[str | None] = []
    written: list[tuple[Path, tuple[str, ...]]] = []

    def settle(stored: Stored) -> None:
        rejects = _all_rejects(parsed, stored)
        if rejects and not dry_run:
            # Written before the commit: a row is in the book or in the file, never in neither.
            written.append(write_rejects(raw, rejects, fallback=store.folder))
        if not dry_run:
            kept.append(keep_rows(store, raw, parsed, stored))

    stored = store.put(
        parsed.good,
        source=raw.path.name,
        amend=amend,
        dry_run=dry_run,
        settle=settle,
        progress=_step(progress, raw, "keeping"),
        as_sent=parsed.as_sent,
    )
    rejects = _all_rejects(parsed, stored)
    rejected = len({reject.position for reject in rejects})
    key = next(iter(kept), None)
    if key is not None:
        keep_import(store, key, raw, stored, rejected)
    held = parsed.good.filter(~parsed.good["needle_parts_found"].fill_null(value=True))
    return FileOutcome(
        file=str(raw.path),
        rows=raw.rows,
        added=stored.added,
        skipped=stored.skipped,
        amended=stored.amended,
        rejected=rejected,
        rejects_file=str(written[0][0]) if written else None,
        rejects=tuple(
            RejectedRow(int(raw.numbers[reject.position]), reject.column, reject.reason)
            for reject in rejects
        ),
        import_key=key,
        notes=(*raw.notes, *parsed.notes, *told, *(written[0][1] if written else ())),
        held=tuple(held["run_ref"]),
    )


def _step(progress: Progress | None, raw: RawSheet, stage: str) -> Callable[[int], None] | None:
    """Turn rows done one after another into rows done so far."""
    if progress is None:
        return None
    done = 0

    def step(rows: int) -> None:
        nonlocal done
        done += rows
        progress(f"{raw.path.name}: {stage}", done, raw.rows)

    return step


def _all_rejects(parsed: Parsed, stored: Stored) -> tuple[Reject, ...]:
    conflicts = [
        Reject(int(parsed.good_positions[position]), "run_ref", CONFLICT)
        for position in stored.conflicts
    ]
    return tuple(sorted((*parsed.rejects, *conflicts), key=lambda reject: reject.position))
