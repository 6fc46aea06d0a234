"""Columns of a strange sheet matched with those of the run sheet, by name and by content."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import polars as pl

from logbook.runs.columns import columns_with
from logbook.runs.sheet_matching.contents import Contents, contents_of, fitting, sentences
from logbook.runs.sheet_matching.heading_words import (
    EXACT,
    HeadingWords,
    Meant,
    heading_unit,
    name_said,
)
from logbook.runs.sheet_matching.reading import MADE_COLUMNS, ReadColumn
from logbook.runs.sheet_matching.reasons import ReasonWords
from logbook.vocabulary.own_columns import Own

SURE_ENOUGH = 0.5
"""A column with less confidence is left out, and said to be."""
MANY = frozenset(("notes", "reasons", "pieces_of_a_size"))
"""What several columns may hold."""
BY_CONTENT_ALONE: Mapping[str, float] = {"finished_at": 0.9, "reasons": 0.6, "backing": 0.8}
"""Found without a heading that says so, where so large a share of the cells fits."""
NAMED_SHARE, FEWEST_FITTING = 0.7, 0.5
_OUNCES, _GRAMS, _HOURS = ("oz", "ounce"), ("g", "gsm"), ("h", "hour", "std", "stunden")


@dataclass(frozen=True, slots=True)
class Candidate:
    """One column of the sheet as one of the run sheet: how well, and why."""

    place: int
    means: str
    score: float
    because: str


def assigned(
    headings: Sequence[str],
    cells: pl.DataFrame,
    *,
    words: HeadingWords,
    own: Sequence[Own] = (),
    lower: Sequence[str] = (),
) -> tuple[ReadColumn, ...]:
    """Match every column of a sheet; those that mean nothing have None.

    Parameters
    ----------
    headings
        As written.
    cells
        Text columns named by their place.
    words
        The spellings of headings.
    lower
        Of headings in two rows the lower one.
    """
    looked_at = [contents_of(cells[str(place)]) for place in range(len(headings))]
    reason_words = ReasonWords(own)
    columns = {column.name: column for column in columns_with(own)}
    candidates: list[Candidate] = []
    for place, (heading, contents) in enumerate(zip(headings, looked_at, strict=True)):
        if contents.filled:
            under = lower[place] if place < len(lower) else ""
            named = words.meanings_of_two(heading, under) if under else words.meanings(heading)
            named = () if heading in MADE_COLUMNS else named
            candidates += _candidates(place, heading, contents, named, columns, reason_words)
    chosen: dict[int, Candidate] = {}
    taken: set[str] = set()
    for candidate in sorted(candidates, key=lambda each: (-each.score, each.place)):
        free = candidate.means in MANY or candidate.means not in taken
        if candidate.place not in chosen and free and candidate.score >= SURE_ENOUGH:
            chosen[candidate.place] = candidate
            taken.add(candidate.means)
    return tuple(
        _read_column(heading, chosen.get(place), looked_at[place], candidates, place)
        for place, heading in enumerate(headings)
    )


def _candidates(
    place: int,
    heading: str,
    contents: Contents,
    named: Sequence[Meant],
    columns: Mapping[str, object],
    reason_words: ReasonWords,
) -> list[Candidate]:
    found: list[Candidate] = []
    for meant in named[:6]:
        fit = fitting(columns.get(meant.column, meant.column), contents, reason_words)  # type: ignore[arg-type]
        if meant.column == "reasons":
            # Words of any sort may be reasons; numbers alone are not.
            fit = max(fit, 0.6 * fitting(columns["notes"], contents, reason_words))  # type: ignore[arg-type]
        if meant.column == "notes":
            fit = fit if sentences(contents) or meant.score >= EXACT else fit * 0.8
        score = NAMED_SHARE * meant.score + (1 - NAMED_SHARE) * fit
        if fit < FEWEST_FITTING:
            score *= 0.45 + fit
        because = f"{name_said(meant)}; {_share(fit)} of its cells fit"
        ounces = meant.column == "backing_gsm" and unit_of(heading, meant.column) == "oz"
        column = "backing_oz_yd2" if ounces else meant.column
        found.append(Candidate(place, column, min(score, 1.0), because))
    for name, least in BY_CONTENT_ALONE.items():
        if any(each.means == name for each in found):
            continue
        fit = fitting(columns.get(name, name), contents, reason_words)  # type: ignore[arg-type]
        if fit >= least:
            because = f"{_share(fit)} of its cells are {_hold(name)}"
            found.append(Candidate(place, name, 0.62 * fit, because))
    return found


def _share(fit: float) -> str:
    return "all" if fit >= 0.9995 else f"{fit:.0%}".replace("%", " %")


def _hold(name: str) -> str:
    return {"finished_at": "dates", "reasons": "kinds of defects", "backing": "backings"}[name]


def _read_column(
    heading: str,
    candidate: Candidate | None,
    contents: Contents,
    candidates: Sequence[Candidate],
    place: int,
) -> ReadColumn:
    if candidate is None:
        near = max((c for c in candidates if c.place == place), key=lambda c: c.score, default=None)
        if not contents.filled:
            because = "it is empty"
        elif near is None:
            because = "its heading and cells are like no column of a run sheet"
        else:
            because = f"nearest to {near.means}, which another column is or its cells do not fit"
        return ReadColumn(heading, None, round(1 - near.score, 2) if near else 1.0, because)
    return ReadColumn(
        heading,
        candidate.means,
        round(candidate.score, 2),
        candidate.because,
        unit_of(heading, candidate.means),
    )


def unit_of(heading: str, means: str) -> str:
    """The unit that numbers of a column are in, where its heading names it."""
    unit = heading_unit(heading) or heading.casefold()
    if means == "backing_oz_yd2":
        return "oz"
    if means == "backing_gsm":
        if any(unit.startswith(word) or unit.endswith(f" {word}") for word in _OUNCES):
            return "oz"
        return "g" if any(unit.startswith(word) for word in _GRAMS) or "gsm" in unit else ""
    if means in ("run_minutes", "rework_minutes") and any(unit.startswith(w) for w in _HOURS):
        return "hours"
    return ""


def with_meaning(
    columns: Sequence[ReadColumn], place: int, means: str | None, because: str
) -> tuple[ReadColumn, ...]:
    """The columns with another meaning of one of them."""
    told = list(columns)
    unit = unit_of(columns[place].heading, means) if means else ""
    told[place] = replace(columns[place], means=means, confidence=1.0, because=because, unit=unit)
    return tuple(told)
