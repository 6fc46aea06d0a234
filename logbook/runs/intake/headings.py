"""Headings: which column of the run sheet each one means, and whether the needed ones are there."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache

from logbook.errors import NotARunSheet
from logbook.runs.columns import (
    COLUMNS,
    EXPOSURES,
    MADE_COLUMNS,
    WEIGHT_IN_OUNCES,
    columns_with,
    outcome_columns,
)
from logbook.vocabulary.defects import DEFECT_KINDS
from logbook.vocabulary.own_columns import Own, own_defect_kinds
from logbook.vocabulary.sheet_words import LANGUAGES, spellings

OF_A_REJECTS_FILE: tuple[str, ...] = ("row", "column", "reason")
"""Added behind rejected rows; taken off again when a mended rejects file comes in."""

OFTEN_WRITTEN: Mapping[str, str] = {
    heading: column.name for column in COLUMNS for heading in column.headings
}
"""Short headings and the column that they probably mean: a guess to tell, never taken as read."""

FIND_OUT = "let it be found out how the sheet is to be read: logbook match FILE"

_MADE = frozenset(column.name for column in MADE_COLUMNS)
"""Columns of an export that the book makes anew of its runs: passed over without a word."""
_UNIT = re.compile(r"[(\[][^()\[\]]*[)\]]\s*$")
_JOINERS = re.compile(r"[\s\-_\u2010-\u2015\u2212]+")


@dataclass(frozen=True, slots=True)
class Understood:
    """What the headings mean: a column's name for each, or None where it is ignored."""

    names: tuple[str | None, ...]
    notes: tuple[str, ...]


def without_added(headings: Sequence[str]) -> tuple[str, ...]:
    """The headings without those that a rejects file added: all three, last and as written.

    A sheet's own column ``Reason`` is no such thing: it is kept, and said to be ignored.
    """
    filled = len(headings)
    while filled and not headings[filled - 1].strip():
        filled -= 1
    own = filled - len(OF_A_REJECTS_FILE)
    added = own >= 0 and tuple(headings[own:filled]) == OF_A_REJECTS_FILE
    return tuple(headings[:own] if added else headings)


def heading_name(heading: str) -> str:
    """A heading in the form in which it is compared: ``Backing GSM (g/m²)`` → ``backing_gsm``."""
    plain = unicodedata.normalize("NFKC", heading).replace("\ufeff", "").casefold().strip()
    return _JOINERS.sub("_", _UNIT.sub("", plain).strip()).strip("_")


def known_names(own: Sequence[Own] = ()) -> frozenset[str]:
    """Every column name that a shop's run sheet may have."""
    names = {column.name for column in columns_with(own)}
    return frozenset(names | {WEIGHT_IN_OUNCES.name})


@lru_cache(maxsize=1)
def _trade_headings() -> Mapping[str, str]:
    """How the trade heads columns, in every language of its sheets."""
    found: dict[str, str] = {}
    for language in LANGUAGES:
        for column, words in (*language.headings.items(), *language.kinds.items()):
            for spelling in spellings(words):
                found.setdefault(heading_name(spelling), column)
    labels = {heading_name(column.label): column.name for column in COLUMNS}
    return {**found, **labels, **OFTEN_WRITTEN}


def near_miss(name: str, own: Sequence[Own] = ()) -> str | None:
    """The column that a name was probably meant to be; None where none is close."""
    text = heading_name(name)
    if (meant := _trade_headings().get(text)) in known_names(own):
        return meant
    near = get_close_matches(text, sorted(known_names(own)), n=1, cutoff=0.75)
    return near[0] if near else OFTEN_WRITTEN.get(text)


def understand(headings: Sequence[str], *, file: str, own: Sequence[Own] = ()) -> Understood:
    """Read the header of a run sheet.

    Parameters
    ----------
    headings
        The header's cells as written.
    file
        The file's name, for messages.
    own
        Columns and defect kinds that the shop has added.

    Raises
    ------
    NotARunSheet
        No heading is known, two mean the same column, or a required column is missing.
    """
    known = known_names(own)
    plain = [heading_name(heading) for heading in headings]
    names = tuple(name if name in known else None for name in plain)
    if not any(names):
        raise NotARunSheet(
            f"{file} is not a run sheet: its first row names no column of one "
            f"(it begins {_shown(headings)}).",
            f"{FIND_OUT}; or put the column names in the first row: finished_at, "
            "pieces_inspected, puckering …",
        )
    _refuse_doubles(headings, names, file)
    strange = {
        heading: near_miss(heading, own)
        for heading, name, text in zip(headings, names, plain, strict=True)
        if name is None and text and text not in _MADE
    }
    _refuse_missing({name for name in names if name}, strange, file, own)
    return Understood(names, tuple(_ignored(heading, near) for heading, near in strange.items()))


def _shown(headings: Sequence[str]) -> str:
    return ", ".join(f"'{heading.strip()[:30]}'" for heading in headings[:3])


def _ignored(heading: str, near: str | None) -> str:
    guess = (
        f"; if it is {near}, rename it and import again (rows without run_ref then enter once "
        "more: withdraw those of this import first)"
        if near
        else ""
    )
    return f"the column '{heading.strip()}' is not part of a run sheet and was ignored{guess}"


def _refuse_doubles(headings: Sequence[str], names: Sequence[str | None], file: str) -> None:
    seen: dict[str, str] = {}
    for heading, name in zip(headings, names, strict=True):
        if name is None:
            continue
        if name in seen:
            raise NotARunSheet(
                f"{file} has two columns for {name}: '{seen[name].strip()}' and "
                f"'{heading.strip()}'.",
                "delete or rename one of them",
            )
        seen[name] = heading


def _refuse_missing(
    there: set[str],
    strange: Mapping[str, str | None],
    file: str,
    own: Sequence[Own],
) -> None:
    outcomes = there & set(outcome_columns(own))
    missing = []
    if "finished_at" not in there:
        missing.append("finished_at")
    if not there & set(EXPOSURES):
        missing.append("an exposure (pieces_inspected, pieces_sewn or stitches_sewn)")
    elif there & set(EXPOSURES) == {"stitches_sewn"} and outcomes and not outcomes & _events(own):
        missing.append("pieces_inspected or pieces_sewn, against which its outcomes are counted")
    if not outcomes:
        missing.append("any outcome (such as puckering or thread_breaks)")
    if not missing:
        return
    wanted = {"finished_at", *EXPOSURES, *outcome_columns(own)}
    guesses = [
        f"'{heading.strip()}' looks like {near}: rename it"
        for heading, near in strange.items()
        if near in wanted
    ]
    raise NotARunSheet(
        f"{file} is not a run sheet: it has no column {'; nor '.join(missing)}.",
        "; ".join((*guesses, FIND_OUT)),
    )


def _events(own: Sequence[Own]) -> set[str]:
    return {
        kind.name for kind in (*DEFECT_KINDS, *own_defect_kinds(own)) if kind.measure == "events"
    }
