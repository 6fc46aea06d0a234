"""A strange sheet matched: its table, its columns, how its cells are read and what is unclear."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

import polars as pl

from logbook.errors import NotAnAnswer
from logbook.runs.columns import EXPOSURES, columns_with
from logbook.runs.sheet_matching import asking
from logbook.runs.sheet_matching.applying import Prepared, prepared
from logbook.runs.sheet_matching.asking import Question
from logbook.runs.sheet_matching.assigning import assigned, with_meaning
from logbook.runs.sheet_matching.dates import Judged
from logbook.runs.sheet_matching.doubts import doubts, kinds_named
from logbook.runs.sheet_matching.gathering import Gathered, gather
from logbook.runs.sheet_matching.grids import open_grids
from logbook.runs.sheet_matching.heading_words import heading_words
from logbook.runs.sheet_matching.reading import SheetReading
from logbook.vocabulary.own_columns import Own
from logbook.vocabulary.sheet_words import SPECIAL

LEFT_OUT: Mapping[str, tuple[str, str]] = {
    "total": ("row of sums", "rows of sums"),
    "heading": ("repeated heading", "repeated headings"),
    "line": ("line between", "lines between"),
}
"""Rows that are no runs, one and several."""


@dataclass(frozen=True, slots=True, eq=False)
class Matched:
    """How a file would be read.

    ``reading`` has every answer in it, and for ``questions``, which are open, the likelier one.
    """

    file: str
    gathered: Gathered
    reading: SheetReading
    dates: Judged
    questions: tuple[Question, ...]
    prepared: Prepared
    notes: tuple[str, ...]

    @property
    def unsettled(self) -> tuple[Question, ...]:
        """Questions that nobody but the shop can answer."""
        return tuple(question for question in self.questions if question.for_the_shop)

    @property
    def date_order(self) -> str:
        """``native``, ``iso``, ``day_first`` or ``month_first``."""
        if self.dates.order != "year_first":
            return self.dates.order
        return "native" if self.gathered.table.grid.typed else "iso"


def match_sheet(
    path: Path,
    data: bytes,
    *,
    now: datetime,
    sheet: str | None = None,
    own: Sequence[Own] = (),
    known: Mapping[str, Sequence[str]],
    answers: Mapping[str, str] | None = None,
    take_best: bool = False,
) -> Matched:
    """Find out how a strange sheet is to be read.

    Parameters
    ----------
    path, data
        The file and its bytes.
    now
        The present, in the shop's time.
    sheet
        One worksheet alone; all of them where None.
    own
        Columns and defect kinds that the shop has added.
    known
        Names in use in the book, by open list.
    answers
        Answers by question, and of ``COLUMN.TEXT`` or ``column.HEADING`` what they mean.
    take_best
        Whether to take the likelier answer of what is open, where that may be done.

    Raises
    ------
    NotARunSheet
        The file has no table of runs.
    NotAnAnswer
        An answer is none of the choices, or answers nothing.
    """
    words = heading_words(tuple(own))
    grids = open_grids(path, data, sheet=sheet)
    gathered = gather(path, grids, words)
    answers = dict(answers or {})
    reading = _columns_of(gathered, own, answers)
    reading, judged, questions = doubts(gathered, reading, now=now, known=known, own=own)
    reading, open_questions = _settled(reading, questions, answers, take_best=take_best)
    if "finished_at" in answers or any(q.id in EXPOSURES for q in questions if q.id in answers):
        # A column found by an answer may raise questions of its own.
        reading, judged, more = doubts(gathered, reading, now=now, known=known, own=own)
        reading, open_questions = _settled(reading, more, answers, take_best=take_best)
    reading = _with_free_answers(reading, questions, answers, own)
    reading = replace(reading, kinds=kinds_named(gathered, reading, own))
    done = prepared(
        gathered.cells,
        reading,
        own=own,
        suppliers=known.get("backing_supplier", ()),
    )
    notes = (*grids[0].notes, *_notes(gathered), *done.notes)
    return Matched(path.name, gathered, reading, judged, open_questions, done, notes)


def _columns_of(gathered: Gathered, own: Sequence[Own], answers: Mapping[str, str]) -> SheetReading:
    words = heading_words(tuple(own))
    columns = assigned(
        gathered.headings, gathered.cells, words=words, own=own, lower=gathered.table.lower
    )
    for heading, means in gathered.made.items():
        place = gathered.headings.index(heading)
        if not any(column.means == means for column in columns):
            columns = with_meaning(
                columns, place, means, "a line or a worksheet of its own says it"
            )
        else:
            columns = with_meaning(columns, place, None, "a column says it")
    reading = SheetReading(columns)
    meanings = {column.name for column in columns_with(own)} | set(SPECIAL) | {asking.IGNORE}
    for name, answer in answers.items():
        sort, _, heading = name.partition(".")
        if sort == "column" and heading:
            if answer not in meanings:
                raise NotAnAnswer(
                    f"{answer!r} is no column of a run sheet.",
                    "see the run sheet's columns, or ignore",
                )
            reading = asking.meaning_answered(reading, heading, answer)
    return reading


def _settled(
    reading: SheetReading,
    questions: Sequence[Question],
    answers: Mapping[str, str],
    *,
    take_best: bool,
) -> tuple[SheetReading, tuple[Question, ...]]:
    open_questions = []
    for question in questions:
        if question.id in answers:
            reading = _answered(reading, question, question.checked(answers[question.id]))
        elif question.best is not None:
            reading = _answered(reading, question, question.best)
            if not take_best or question.for_the_shop:
                open_questions.append(question)
        else:
            open_questions.append(question)
    return reading, tuple(open_questions)


def _answered(reading: SheetReading, question: Question, answer: str) -> SheetReading:
    if question.id == "names":
        return reading if answer == "no" else asking.with_names(reading, question.alike)
    if question.id == "stitches":
        places = reading.places("stitches")
        if not places:
            return reading
        columns = with_meaning(reading.columns, places[0], answer, "you said so")
        return replace(reading, columns=columns)
    if question.id == "finished_at" or question.id in EXPOSURES:
        return asking.meaning_answered(reading, answer, question.id)
    return asking.answered(reading, question.id, answer)


def _with_free_answers(
    reading: SheetReading,
    questions: Sequence[Question],
    answers: Mapping[str, str],
    own: Sequence[Own],
) -> SheetReading:
    """Answers that no question asked for: what a text of a column means."""
    asked = {question.id for question in questions}
    columns = {column.name for column in columns_with(own)} | {"reasons"}
    for name, answer in answers.items():
        if name in asked or name.startswith("column."):
            continue
        if name.partition(".")[0] not in columns or "." not in name:
            # Answers of last week's sheet do no harm where this one raises no such question.
            if name in asking.ASKED or name.startswith("usual."):
                continue
            raise NotAnAnswer(
                f"There is no question {name!r}.",
                f"open questions are: {', '.join(sorted(asked)) or 'none'}",
            )
        reading = asking.answered(reading, name, answer)
    return reading


def _notes(gathered: Gathered) -> list[str]:
    notes = []
    parts = [
        f"{count:,} {one if count == 1 else many}"
        for sort, (one, many) in LEFT_OUT.items()
        if (count := gathered.left_out.get(sort, 0))
    ]
    if parts:
        notes.append(f"left out: {', '.join(parts)}")
    for table in gathered.others:
        where = f"worksheet '{table.grid.name}', " if table.grid.name else ""
        notes.append(
            f"another table was not read: {where}row {table.heading_row} "
            f"({', '.join(table.headings[:4])} …)"
        )
    return notes


def shown_rows(matched: Matched, count: int = 3) -> pl.DataFrame:
    """The first rows as they stand, under their headings."""
    cells = matched.gathered.cells.head(count)
    names: dict[str, str] = {}
    for place, heading in enumerate(matched.gathered.headings):
        name = heading or f"column {place + 1}"
        names[str(place)] = name if name not in names.values() else f"{name} {place + 1}"
    return cells.rename(names)
