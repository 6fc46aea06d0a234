"""By which columns it can be asked where."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from logbook.cells import PERIODS
from logbook.errors import VocabularyError
from logbook.runs.factors import Factor, factors_with

if TYPE_CHECKING:
    from logbook.store import Store

_PERIODS = tuple(each for each in PERIODS if each != "day")
_OUTCOMES = frozenset({"safety", "outcome"})
_SELDOM = frozenset({"design_version", "job", "thread"})
"""Too many or too like others to be gone through unasked."""


def columns(store: Store) -> Mapping[str, str]:
    """Columns and how pages call them: what runs are grouped by, but for what they showed."""
    found = {each.column: each.label for each in factors(store)}
    return found | {name: name.capitalize() for name in _PERIODS}


def factors(store: Store) -> tuple[Factor, ...]:
    """What runs of a shop are grouped by, but for what they showed."""
    return tuple(each for each in factors_with(store.shop.own) if each.role not in _OUTCOMES)


def scanned(store: Store) -> tuple[str, ...]:
    """Columns that are gone through where none is named: measured ones by their bands."""
    return tuple(
        each.column
        for each in factors(store)
        if each.of.band in (None, each.column) and each.column not in _SELDOM
    )


def understood(store: Store, text: str, *, most: int) -> tuple[str, ...]:
    """Read one or several columns, by name or label.

    Raises
    ------
    VocabularyError
        One is not known, or they are too many.
    """
    known = columns(store)
    labels = {_plain(label): column for column, label in known.items()}
    found = []
    for part in filter(None, (_plain(each) for each in text.split(","))):
        name = part if part in known else labels.get(part)
        if name is None:
            raise VocabularyError(
                f"by {part!r} is no column to group by; the columns are {', '.join(known)}"
            )
        found.append(name)
    if len(found) > most:
        raise VocabularyError(f"by {text!r} names {len(found)} columns; {most} can be crossed")
    return tuple(dict.fromkeys(found))


def _plain(text: str) -> str:
    return text.strip().casefold().replace("-", "_").replace(" ", "_")
