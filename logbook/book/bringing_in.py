"""A sheet looked at before it comes in, and brought in by one confirmation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from logbook.atomic_files import name_on_disk
from logbook.book.answerable import said_of
from logbook.book.runs import known_spellings, now_at
from logbook.book.sheet_readings import SheetMatch, keep_reading, match_file, open_known
from logbook.book.sheets import FileOutcome, import_sheets
from logbook.errors import NotARunSheet
from logbook.runs.intake import Parsed, RawSheet, open_sheet, parse_sheet
from logbook.store import Store

LONGEST_STEM = 100


@dataclass(frozen=True, slots=True)
class ShownRow:
    """A row as it stands, under its headings, and the run that it becomes.

    ``run`` holds what the row records; None where it cannot be taken: ``why`` says why not.
    """

    number: int
    stands: tuple[tuple[str, str], ...]
    run: Mapping[str, Any] | None
    why: str


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """A sheet as the book would take it.

    ``match`` is None where nothing had to be found out: it is a run sheet, or of a known shape.
    ``doubt`` is why its kept reading was not used.
    """

    raw: RawSheet
    parsed: Parsed
    match: SheetMatch | None
    doubt: str | None = None

    @property
    def rejected(self) -> int:
        """Rows that cannot be taken."""
        return len({reject.position for reject in self.parsed.rejects})

    @property
    def notes(self) -> tuple[str, ...]:
        """What to know of the sheet as a whole."""
        if self.match is not None:
            return (*self.match.matched.notes, *self.parsed.notes)
        return (*self.raw.notes, *self.parsed.notes)

    def first_rows(self, count: int) -> tuple[ShownRow, ...]:
        """The first rows beside the runs that they would become."""
        places = self.parsed.good_positions.head(count).to_list()
        runs = dict(zip(places, self.parsed.good.head(count).to_dicts(), strict=True))
        why: dict[int, str] = {}
        for reject in self.parsed.rejects:
            why.setdefault(reject.position, reject.reason)
        shown = []
        for place, cells in enumerate(self.raw.cells.head(count).rows()):
            stands = tuple(zip(self.raw.headings, map(str, cells), strict=False))
            run = runs.get(place)
            told = None if run is None else {k: v for k, v in run.items() if v is not None}
            number = int(self.raw.numbers[place])
            shown.append(ShownRow(number, stands, told, why.get(place, "")))
        return tuple(shown)


@dataclass(frozen=True, slots=True)
class Brought:
    """What became of a sheet: its rows, the rejects as a file to mend, and what follows.

    ``read_as`` is the name of the reading kept just now; ``lines`` say what the book can answer.
    """

    outcome: FileOutcome
    rejects: tuple[str, bytes] | None
    read_as: str | None
    lines: tuple[str, ...]


def look_at(
    store: Store,
    name: str,
    data: bytes,
    *,
    answers: Mapping[str, str] | None = None,
    anew: bool = False,
) -> Look:
    """See how the book would take a sheet; nothing is kept.

    Parameters
    ----------
    name, data
        The file as it was sent.
    answers
        To the questions of an earlier look.
    anew
        Whether to pass over the kept reading of its shape.

    Raises
    ------
    NotARunSheet
        No table of runs is in it.
    NotAnAnswer
        An answer is none of the choices.
    """
    doubt = None
    with TemporaryDirectory() as folder:
        path = _on_disk(folder, name, data)
        raw = None
        if not anew:
            try:
                raw = open_known(store, path)
            except NotARunSheet as problem:
                doubt = problem.message
        if raw is None and doubt is None:
            raw = _strict(store, path, data)
        if raw is None:
            match = match_file(store, path, answers=answers)
            return Look(match.raw, match.parsed, match, doubt)
        parsed = parse_sheet(raw, shop=store.shop, known=known_spellings(store), now=now_at(store))
    return Look(raw, parsed, None)


def bring_in(store: Store, look: Look, data: bytes, *, source: str) -> Brought:
    """Keep the reading that was looked at, if one was needed, and take the sheet into the book.

    Raises
    ------
    NotAnAnswer
        A question is open that nobody but the shop can answer.
    NotARunSheet, StoreError
        As of :func:`logbook.book.sheets.import_sheets`; nothing was taken then.
    """
    read_as = None
    if look.match is not None:
        read_as = keep_reading(store, look.match, source=source).kept_as
    with TemporaryDirectory() as folder:
        path = _on_disk(folder, look.raw.path.name, data)
        [outcome] = import_sheets(store, [path]).files
        rejects = None
        if outcome.rejects_file is not None:
            file = Path(outcome.rejects_file)
            rejects = (file.name, file.read_bytes())
    return Brought(outcome, rejects, read_as, said_of(store))


def _strict(store: Store, path: Path, data: bytes) -> RawSheet | None:
    """The sheet where its headings are the run sheet's own; None where it has to be matched."""
    try:
        return open_sheet(path, own=store.shop.own)
    except NotARunSheet:
        if data.startswith(b"PAR1"):
            raise
        return None


def _on_disk(folder: str, name: str, data: bytes) -> Path:
    """The sheet as a file under its own name, for as long as it is read."""
    safe = Path(name_on_disk(name.replace("\\", "/").rpartition("/")[2]))
    stem = safe.stem.strip(". ")[:LONGEST_STEM] or "sheet"
    path = Path(folder) / f"{stem}{safe.suffix[:LONGEST_STEM]}"
    path.write_bytes(data)
    return path
