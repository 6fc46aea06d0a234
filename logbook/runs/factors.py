"""Factors: what runs are grouped and compared by, and what people read for them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from logbook.runs.column import Column, Role
from logbook.runs.columns import COLUMNS, MADE_COLUMNS, columns_with
from logbook.vocabulary.bands import Band
from logbook.vocabulary.own_columns import Own
from logbook.vocabulary.setup_lists import WEEKDAYS

NOT_RECORDED = "not recorded"
_LAST: tuple[Role, ...] = ("judging", "surroundings", "people")


@dataclass(frozen=True, slots=True)
class Factor:
    """A column of the cells: ``of`` itself, or cut from it into bands under a name of its own."""

    column: str
    of: Column

    @property
    def label(self) -> str:
        """What people read for it."""
        exact = self.of.bands and self.column == self.of.name
        return f"{self.of.label}, exact" if exact else self.of.label

    @property
    def unit(self) -> str | None:
        """The unit, where the label does not say it already."""
        return self.of.unit_beside

    @property
    def role(self) -> Role:
        """What the column is for."""
        return self.of.role

    @property
    def bands(self) -> tuple[Band, ...]:
        """Steps that it is cut into; none where it is the column itself."""
        return self.of.bands if self.column == self.of.band else ()

    @property
    def cut_from(self) -> str | None:
        """The measured column that it is cut from."""
        return self.of.name if self.bands else None

    @property
    def compared(self) -> bool:
        """Whether comparisons and advice look at it."""
        return self.of.factor and self.column == (self.of.band or self.of.name)


def _factors_of(columns: Iterable[Column]) -> tuple[Factor, ...]:
    return tuple(
        Factor(name, column)
        for column in sorted(
            columns, key=lambda each: _LAST.index(each.role) if each.role in _LAST else -1
        )
        for name in (column.name if column.groupable else None, column.band)
        if name is not None
    )


FACTORS: tuple[Factor, ...] = _factors_of((*COLUMNS, *MADE_COLUMNS))
"""Everything that runs can be grouped by: the job and what is chosen for it come first."""
COMPARED: tuple[Factor, ...] = tuple(each for each in FACTORS if each.compared)
"""What comparisons and advice look at; lots and designs, which nest, they add by themselves."""
_NAMED = {each.column: each for each in FACTORS}


def factors_with(own: Sequence[Own]) -> tuple[Factor, ...]:
    """Everything that a shop's runs can be grouped by, its own columns among it."""
    return _factors_of((*columns_with(own), *MADE_COLUMNS)) if own else FACTORS


def compared(*roles: Role) -> tuple[str, ...]:
    """Names of the factors of some roles that comparisons and advice look at."""
    return tuple(each.column for each in COMPARED if each.role in roles)


def factor_label(column: str) -> str:
    """Name a factor as the pages do; one outside the table is named by its column."""
    named = _NAMED.get(column)
    return named.label if named else column.replace("_", " ").capitalize()


def level_label(column: str, level: Any) -> str:
    """Say a level as the pages do; what was not recorded is said so."""
    if level is None:
        return NOT_RECORDED
    if isinstance(level, bool):
        return "yes" if level else "no"
    factor = _NAMED.get(column)
    if factor is None:
        return str(level)
    if factor.of.choices is not None:
        return factor.of.choices.label_of(str(level))
    names = {band.name: band.label for band in factor.bands}
    unit = f" {factor.unit}" if factor.unit and not factor.bands else ""
    return names.get(level, f"{level}{unit}")


def level_order(column: str, level: str) -> tuple[float, str]:
    """Key that puts levels in their natural order: bands as cut, days of the week as they come.

    Numbers go by size, words by name.
    """
    factor = _NAMED.get(column)
    steps = [band.name for band in factor.bands] if factor else []
    if column == WEEKDAYS.column:
        steps = list(WEEKDAYS.values)
    rising = {step: float(place) for place, step in enumerate(steps)}
    if level in rising:
        return rising[level], level
    try:
        return float(level), level
    except ValueError:
        return math.inf, level
