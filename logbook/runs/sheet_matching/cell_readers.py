"""For each column the reader of its cells: a text becomes facts under the run sheet's names."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from logbook.runs.column import Column
from logbook.runs.columns import EXPOSURES, columns_with
from logbook.runs.sheet_matching.amounts import (
    Mark,
    decimal_mark,
    number_text,
    read_minutes,
    read_number,
)
from logbook.runs.sheet_matching.dates import read_clock, take_apart
from logbook.runs.sheet_matching.listed_values import (
    is_usual,
    read_backing,
    read_choice,
    read_needle,
    read_weight,
    read_yes_no,
)
from logbook.runs.sheet_matching.plain_words import is_said, plain
from logbook.runs.sheet_matching.reading import ReadColumn, SheetReading
from logbook.runs.sheet_matching.reasons import ReasonWords
from logbook.vocabulary.own_columns import Own
from logbook.vocabulary.sheet_words import LANGUAGES, spellings

Facts = Mapping[str, str]
CellReader = Callable[[str], Facts]
UNREAD = "?"
"""Under this name stands what of a cell was not understood."""
SEEN, NOTHING_FOUND, SAID, UNCLEAR = "seen:", "none:", "said:", "unclear:"
"""What reasons tell besides counts: kinds without a number, that there were none, that they spoke,
and that some of it was not understood."""
NEEDED = frozenset(("finished_at", *EXPOSURES))
"""A row cannot do without these: what is not understood there stays, and the row is rejected."""
_NONE = frozenset(plain(word) for each in LANGUAGES for word in spellings(each.none_found))
_MINUTES = frozenset(("run_minutes", "rework_minutes"))


def cell_reader(
    column: ReadColumn,
    reading: SheetReading,
    *,
    texts: Iterable[str] = (),
    reason_words: ReasonWords,
    suppliers: Mapping[str, str],
    own: Sequence[Own] = (),
) -> CellReader:
    """The reader of one column.

    Parameters
    ----------
    column, reading
        What it means, and how its sheet is read.
    texts
        Its cells, which together show what parts decimals.
    reason_words, suppliers
        The grammar of reasons; names that may stand beside a backing.
    """
    means = column.means or ""
    known = reading.names.get(means, {})
    inner = _reader(column, reading, decimal_mark(texts), reason_words, suppliers, own)

    def read(text: str) -> Facts:
        if not is_said(text):
            return {}
        answered = known.get(plain(text))
        if answered is not None:
            if not answered:
                return {}
            return inner(answered) if means in ("backing", "needle_nm") else {means: answered}
        if means not in ("notes", "reasons") and is_usual(text):
            return {}
        return inner(text)

    return read


def _reader(
    column: ReadColumn,
    reading: SheetReading,
    mark: Mark | None,
    reason_words: ReasonWords,
    suppliers: Mapping[str, str],
    own: Sequence[Own],
) -> CellReader:
    means = column.means or ""
    columns = {each.name: each for each in columns_with(own)}
    if means == "finished_at":
        return _moments(reading)
    if means == "time_of_day":
        return lambda text: {"time_of_day": clock} if (clock := read_clock(text)) else _unread(text)
    if means == "reasons":
        return _reasons(reason_words)
    if means == "backing":
        return _backings(suppliers)
    if means in ("backing_gsm", "backing_oz_yd2"):
        return _weights(column)
    if means in ("needle_nm", "needle_point"):
        return lambda text: read_needle(text) or _unread(text)
    if means in ("pieces_of_a_size", "pieces_good", "stitches"):
        return _numbers(means, columns["pieces_sewn"], mark)
    spec = columns[means]
    if means in _MINUTES:
        return _minutes(spec, column.unit)
    if spec.type in ("integer", "number"):
        return _numbers(means, spec, mark)
    return _plain_reader(spec)


def _plain_reader(spec: Column) -> CellReader:
    choices = spec.choices
    if choices is not None:
        return lambda text: (
            {spec.name: value} if (value := read_choice(text, choices)) else _unread(text)
        )
    if spec.type == "boolean":
        return lambda text: (
            _unread(text) if (said := read_yes_no(text)) is None else {spec.name: str(said).lower()}
        )
    return lambda text: {spec.name: text}


def _unread(text: str) -> Facts:
    return {UNREAD: text}


def _moments(reading: SheetReading) -> CellReader:
    def read(text: str) -> Facts:
        form = take_apart(text)
        day = form.under(reading.date_order, reading.year) if form else None
        if form is None or day is None:
            return {"finished_at": text}
        if reading.swapped and form.fixed and not form.yearless and day.day <= 12:
            day = day.replace(month=day.day, day=day.month)
        return {"finished_at": day.isoformat() + (f" {form.time}" if form.time else "")}

    return read


def _numbers(means: str, spec: Column, mark: Mark | None) -> CellReader:
    outcome = spec.role == "outcome" or means == "pieces_of_a_size"

    def read(text: str) -> Facts:
        value = read_number(text, spec, mark)
        if value is None and outcome and plain(text) in _NONE:
            value = 0.0
        told = None if value is None else number_text(value, spec)
        if told is None:
            return {means: text} if means in NEEDED else _unread(text)
        return {means: told}

    return read


def _minutes(spec: Column, unit: str) -> CellReader:
    def read(text: str) -> Facts:
        value = read_minutes(text, unit="hours" if unit == "hours" else "minutes")
        return {spec.name: f"{value:g}"} if value is not None else _unread(text)

    return read


def _weights(column: ReadColumn) -> CellReader:
    ounces = {"oz": True, "g": False}.get(column.unit)
    return lambda text: read_weight(text, ounces=ounces) or _unread(text)


def _backings(suppliers: Mapping[str, str]) -> CellReader:
    def read(text: str) -> Facts:
        facts, left = read_backing(text, suppliers)
        if not facts:
            return _unread(text)
        return {**facts, UNREAD: left} if left else facts

    return read


def _reasons(words: ReasonWords) -> CellReader:
    def read(text: str) -> Facts:
        found = words.read(text)
        facts = {kind: str(count) for kind, count in found.counts.items()}
        # Phrases that the shop has answered with "no defect" come as a kind without a name.
        facts.pop("", None)
        seen = [kind for kind in found.seen if kind]
        told = bool(facts or found.seen or found.none)
        return {
            **facts,
            **({SEEN: " ".join(seen)} if seen else {}),
            **({NOTHING_FOUND: "1"} if found.none and not facts else {}),
            **({SAID: "1"} if told else {}),
            **({UNCLEAR: "1"} if found.unknown else {}),
            **({UNREAD: "\n".join(found.unknown)} if found.unknown else {}),
            "notes": text,
        }

    return read
