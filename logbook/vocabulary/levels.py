"""What people read for a factor of the cells and for one of its levels."""

from __future__ import annotations

import math
from typing import Any

from logbook.vocabulary import CHOICE_LISTS, FACTORS

NOT_RECORDED = "not recorded"


def factor_label(column: str) -> str:
    """Name a factor as the pages do; one outside the lists is named by its column."""
    named = {choices.column: choices.label for choices in CHOICE_LISTS}
    named |= {factor.column: factor.label for factor in FACTORS}
    return named.get(column, column.replace("_", " ").capitalize())


def level_label(column: str, level: Any) -> str:
    """Say a level as the pages do; what was not recorded is said so."""
    if level is None:
        return NOT_RECORDED
    if isinstance(level, bool):
        return "yes" if level else "no"
    for choices in CHOICE_LISTS:
        if choices.column == column:
            return choices.label_of(str(level))
    for each in FACTORS:
        if each.column == column:
            names = {band.name: band.label for band in each.bands}
            unit = f" {each.unit}" if each.unit and not each.bands else ""
            return names.get(level, f"{level}{unit}")
    return str(level)


def level_order(column: str, level: str) -> tuple[float, str]:
    """Key that puts levels in their natural order: bands as cut, numbers by size, words by name."""
    bands = next((each.bands for each in FACTORS if each.column == column), ())
    rising = {band.name: float(place) for place, band in enumerate(bands)}
    if level in rising:
        return rising[level], level
    try:
        return float(level), level
    except ValueError:
        return math.inf, level
