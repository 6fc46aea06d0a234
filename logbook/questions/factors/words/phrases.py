"""Phrases that several sentences about factors are made of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.runs.factors import FACTORS, compared, factor_label, level_label
from logbook.wording import percent, times_interval

if TYPE_CHECKING:
    from logbook.questions.factors.result import FactorEffect

JUDGED = compared("judging")
_WORDED = {each.column for each in FACTORS if each.bands or each.of.choices}
"""Factors whose levels are common words, and not names."""


def named(factor: str, level: str | None) -> str:
    """Name a level within a sentence: ``backing supplier Cedar``, ``no topping``."""
    said = level_named(factor, level)
    if level == "none" or factor in JUDGED:
        return said
    return f"{lowered(factor_label(factor))} {said}"


def effect_named(each: FactorEffect) -> str:
    """Name the level of an effect within a sentence."""
    return named(each.adjusted.factor, each.adjusted.level)


def reference(each: FactorEffect) -> str:
    """Say what a level is set against: ``the others``, ``the others but M3``."""
    apart = [level_named(each.adjusted.factor, word) for word in each.adjusted.apart]
    return f"the others but {' and '.join(apart)}" if apart else "the others"


def level_named(factor: str, level: str | None) -> str:
    """Name a level where its factor is said already; the edges of bands are left to the table."""
    said = level_label(factor, level).partition(", ")[0]
    return lowered(said) if factor in _WORDED else said


def interval_of(level: float, said: str) -> str:
    """Say an interval with its level: ``95 % interval 1.2 to 2.0``."""
    return f"{percent(level, 0)} interval {said}"


def ratio_interval(each: FactorEffect) -> str:
    """Say the interval of an effect's ratio."""
    return interval_of(each.adjusted.ratio_level, times_interval(each.adjusted.ratio_interval))


def lowered(label: str) -> str:
    """A label within a sentence."""
    return f"{label[0].lower()}{label[1:]}"


def raised(text: str) -> str:
    """Words that begin a sentence."""
    return f"{text[0].upper()}{text[1:]}"
