"""Phrases that several sentences about suppliers are made of."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from logbook.kernels.count_series import Measure
from logbook.questions.suppliers.stratified import Bounds, Difference
from logbook.vocabulary.backings import BACKINGS
from logbook.wording import number, per_100k, percent, points

if TYPE_CHECKING:
    from logbook.questions.suppliers.result import SuppliersResult


def size_of(difference: float, measure: Measure) -> str:
    """Say the size of a difference, whose unit stands elsewhere: ``2.1``."""
    if measure == "pieces":
        return points(abs(difference)).removesuffix(" points")
    return per_100k(abs(difference)).partition(" per ")[0]


def gap(difference: float, measure: Measure) -> str:
    """Say how far above or below: ``2.1 points above``, ``level with``."""
    if difference == 0:
        return "level with"
    size = points(abs(difference)) if measure == "pieces" else per_100k(abs(difference))
    return f"{size} {'above' if difference > 0 else 'below'}"


def interval_of(interval: Bounds, measure: Measure, level: float) -> str:
    """Say an interval of a difference: ``95 % interval 1.4 to 2.8 points above``."""
    lower, upper = interval
    head = f"{percent(level, 0)} interval"
    if not (math.isfinite(lower) and math.isfinite(upper)):
        return f"{head} not known"
    if lower < 0 < upper:
        return f"{head} {size_of(lower, measure)} below to {gap(upper, measure)}"
    near, far = sorted((lower, upper), key=abs)
    return f"{head} {size_of(near, measure)} to {gap(far, measure)}"


def compared(difference: Difference, other: str, measure: Measure, level: float) -> str:
    """Say ``2.1 points above Alder's (95 % interval 1.4 to 2.8 points above)``."""
    return (
        f"{gap(difference.estimate, measure)} {other}'s "
        f"({interval_of(difference.interval, measure, level)})"
    )


def groups(count: int) -> str:
    """Say how many jobs are shared."""
    return f"{number(count)} like-for-like group{'' if count == 1 else 's'}"


def listed(names: Sequence[str]) -> str:
    """Say names in a row: ``Alder, Birch and Cedar``."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def backing_of(result: SuppliersResult) -> str:
    """Name the backing that is asked about, within a sentence; empty where all are."""
    return BACKINGS.label_of(result.backing).lower() if result.backing else ""
