"""What a shop's own sheet may be written in: the words of one language for what a run has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

NONE: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Language:
    """The words of one language; spellings in small letters, commas between.

    Parameters
    ----------
    name
        Of the language.
    headings
        Column of the run sheet (or one of ``SPECIAL``) and the headings that mean it.
    choices
        ``column.value`` of a closed list and spellings besides those of the list itself.
    kinds
        Defect kind and how its finding is written down.
    numbers
        Words for numbers.
    months, weekdays
        Beginnings of their names, the first month and Monday first.
    yes, no
        Answers.
    none_found, seen
        That nothing was found; that something was, but not how often.
    totals
        How a row of sums begins.
    usual
        That it was as always.
    fillers
        Words beside a number and a kind that say nothing of either.
    joins
        Words between two findings.
    hours, minutes
        Units of time, shortest last.
    """

    name: str
    headings: Mapping[str, str]
    choices: Mapping[str, str]
    kinds: Mapping[str, str]
    numbers: Mapping[str, int]
    months: tuple[str, ...]
    weekdays: tuple[str, ...]
    yes: str
    no: str
    none_found: str
    seen: str
    totals: str
    usual: str
    fillers: str
    joins: str
    hours: str
    minutes: str


def spellings(text: str) -> tuple[str, ...]:
    """The spellings of one entry."""
    return tuple(word for word in (part.strip() for part in text.split(",")) if word)
