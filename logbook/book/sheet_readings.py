"""Readings of strange sheets: found out, kept in the book, and used again for sheets like them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from logbook.book.runs import known_spellings, now_at
from logbook.errors import NotAnAnswer
from logbook.runs.intake import Parsed, RawSheet, parse_sheet
from logbook.runs.intake.sheet import bytes_of
from logbook.runs.sheet_matching.matching import Matched, match_sheet
from logbook.runs.sheet_matching.opening import open_by_reading, raw_sheet
from logbook.runs.sheet_matching.reading import SheetReading, reading_from
from logbook.store import Store

COLLECTION = "sheet_readings"
LONGEST_NAME = 80
CARRIED_BY: Mapping[str, str] = {
    "time_of_day": "finished_at",
    "pieces_of_a_size": "pieces_sewn",
    "pieces_good": "pieces_defective",
    "stitches": "stitches_per_piece",
}
"""What is no column of the run sheet by itself, and the column that it comes to."""


@dataclass(frozen=True, slots=True, eq=False)
class SheetMatch:
    """A strange sheet as it would be read by this book.

    ``parsed`` are the runs that it would become; ``kept_as`` is the name under which the reading
    is kept, None where it is not.
    """

    matched: Matched
    raw: RawSheet
    parsed: Parsed
    kept_as: str | None = None

    def as_json(self) -> dict[str, Any]:
        """Plain values for ``--json``."""
        matched = self.matched
        rows = matched.gathered.cells.height
        unread = matched.prepared.not_understood
        return {
            "file": matched.file,
            "sheet": matched.gathered.table.grid.name,
            "heading_row": matched.gathered.table.heading_row,
            "rows": rows,
            "runs": self.parsed.good.height,
            "columns": [
                {
                    "heading": column.heading,
                    "column": CARRIED_BY.get(column.means or "", column.means),
                    "confidence": column.confidence,
                    "because": column.because,
                }
                for column in matched.reading.columns
            ],
            "dates": {
                "order": matched.date_order,
                "certain": self.dates_certain,
                "because": matched.dates.because,
            },
            "questions": [
                {
                    "id": question.id,
                    "asks": question.asks,
                    "choices": list(question.choices),
                    "best": question.best,
                }
                for question in matched.questions
            ],
            "not_understood": [asdict(each) for each in unread],
            "kept_as": self.kept_as,
            "notes": list(self.notes),
        }

    @property
    def dates_certain(self) -> bool:
        """Whether the dates' order is told by the column or by the shop."""
        return not any(q.id in ("dates", "swapped_dates", "year") for q in self.matched.questions)

    @property
    def notes(self) -> tuple[str, ...]:
        """What to know of the sheet and of the runs that it would become."""
        rejected = len(self.parsed.rejects)
        rows = "1 row" if rejected == 1 else f"{rejected} rows"
        more = (f"{rows} cannot be taken and would go to a rejects file",)
        return (*self.matched.notes, *self.parsed.notes, *(more if rejected else ()))


def sheet_readings(store: Store) -> dict[str, SheetReading]:
    """The kept readings by their names."""
    return {each.key: reading_from(each.content) for each in store.documents(COLLECTION)}


def match_file(
    store: Store,
    path: Path,
    *,
    data: bytes | None = None,
    sheet: str | None = None,
    answers: Mapping[str, str] | None = None,
    take_best: bool = False,
) -> SheetMatch:
    """Find out how a sheet would be read; nothing is kept.

    Parameters
    ----------
    path
        The file; only its name counts where ``data`` is given.
    data
        Its bytes.
    sheet, answers, take_best
        As of :func:`logbook.runs.sheet_matching.matching.match_sheet`.

    Raises
    ------
    NotARunSheet
        There is no such file, or no table of runs in it.
    NotAnAnswer
        An answer is none of the choices.
    """
    known = known_spellings(store)
    matched = match_sheet(
        path,
        bytes_of(path) if data is None else data,
        now=now_at(store),
        sheet=sheet,
        own=store.shop.own,
        known=known,
        answers=answers,
        take_best=take_best,
    )
    raw = raw_sheet(path, matched.gathered, matched.reading, matched.prepared.cells)
    parsed = parse_sheet(raw, shop=store.shop, known=known, now=now_at(store))
    return SheetMatch(matched, raw, parsed)


def keep_reading(
    store: Store, match: SheetMatch, *, name: str | None = None, source: str
) -> SheetMatch:
    """Keep a reading, so that sheets of its shape come in by ``import`` alone.

    Parameters
    ----------
    name
        What to call it; made from the file's name where None. A reading of the same shape is
        replaced.

    Raises
    ------
    NotAnAnswer
        A question is open that nobody but the shop can answer.
    """
    if match.matched.unsettled:
        raise NotAnAnswer(
            "The reading was not kept: " + match.matched.unsettled[0].asks,
            f"answer it with --answer {match.matched.unsettled[0].id}=CHOICE",
        )
    reading = match.matched.reading
    kept = sheet_readings(store)
    same = [key for key, each in kept.items() if each.shape == reading.shape]
    called = _named(name) if name else (same[0] if same else _free(match.matched.file, kept))
    for key in same:
        if key != called:
            store.withdraw_document(COLLECTION, key, why=f"now read as {called}", source=source)
    store.put_document(COLLECTION, called, reading.plain(), source=source, about=called)
    return replace(match, kept_as=called)


def open_known(
    store: Store, path: Path, *, sheet: str | None = None, data: bytes | None = None
) -> RawSheet | None:
    """A sheet opened by the kept reading of its shape; None where the book has none.

    Raises
    ------
    NotARunSheet
        There is no such file, or its dates are written otherwise than the reading's.
    """
    readings = sheet_readings(store)
    if not readings:
        return None
    return open_by_reading(
        path,
        bytes_of(path) if data is None else data,
        readings,
        now=now_at(store),
        sheet=sheet,
        own=store.shop.own,
        suppliers=store.known("backing_supplier"),
    )


def _named(name: str) -> str:
    called = " ".join(name.split())
    if not called or len(called) > LONGEST_NAME:
        raise NotAnAnswer(
            f"A reading needs a name of up to {LONGEST_NAME} characters.", "use --as NAME"
        )
    return called


def _free(file: str, kept: Mapping[str, SheetReading]) -> str:
    """A name from the file's, without the dates and numbers that change from week to week."""
    words = re.sub(r"[\d_\-.()\s]+", " ", Path(file).stem).strip() or "sheet"
    called, number = words[:LONGEST_NAME], 1
    while called in kept:
        number += 1
        called = f"{words[: LONGEST_NAME - 5]} {number}"
    return called
