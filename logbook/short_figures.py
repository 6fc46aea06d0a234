"""How figures are said in a column, whose heading carries the words: short, a dash where absent."""

from __future__ import annotations

import math
from typing import Literal

from logbook.wording import PER_STITCHES, interval_words, number, rate_only

ABSENT = "–"
NOT_KNOWN = "not known"


def rate_short(measure: Literal["pieces", "events"], rate: float) -> str:
    """Say a rate: ``3.4 %``, ``3.1 in 100,000`` (stitches) or a dash."""
    if not math.isfinite(rate):
        return ABSENT
    return rate_only(measure, rate).replace(
        f" per {PER_STITCHES:,} stitches", f" in {PER_STITCHES:,}"
    )


def interval_short(measure: Literal["pieces", "events"], interval: tuple[float, float]) -> str:
    """Say an interval: ``2.5 to 4.6 %``, ``1.8 to 5.0`` or a dash."""
    if not all(math.isfinite(bound) for bound in interval):
        return ABSENT
    return interval_words(measure, interval)


def count_short(
    measure: Literal["pieces", "events"],
    count: float,
    exposure: float,
    *,
    millions: str = "million stitches",
) -> str:
    """Say what was counted in what: ``41 of 1,204``, ``17 in 0.54 million stitches``."""
    if measure == "pieces":
        return f"{number(count)} of {number(exposure)}"
    return f"{number(count)} in {exposure / 1e6:,.2f} {millions}"


def money_short(amount: float | None) -> str:
    """Say an amount whose currency stands in the heading: ``41.20`` or a dash."""
    if amount is None or not math.isfinite(amount):
        return ABSENT
    return f"{round(amount, 2) + 0.0:,.2f}"


def money_or_not_known(amount: float | None) -> str:
    """Say an amount, ``not known`` where it cannot be said, or a dash where none is asked for."""
    return NOT_KNOWN if amount is not None and math.isnan(amount) else money_short(amount)
