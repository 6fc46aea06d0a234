"""Phrases that several sentences about suppliers are made of."""

from __future__ import annotations

import math
from collections.abc import Sequence

from logbook.kernels.points import Measure
from logbook.questions.suppliers.like_for_like import Bounds
from logbook.vocabulary.defects import DefectKind
from logbook.wording import per_100k, percent, points


def rate_of(kind: DefectKind) -> str:
    """Name what is compared: ``rate of puckering``."""
    return f"rate of {kind.label[0].lower()}{kind.label[1:]}"


def gap(difference: float, measure: Measure) -> str:
    """Say how far above or below: ``2.1 points above``, ``level with``."""
    if difference == 0:
        return "level with"
    size = points(abs(difference)) if measure == "pieces" else per_100k(abs(difference))
    return f"{size} {'above' if difference > 0 else 'below'}"


def doubt(interval: Bounds, measure: Measure, level: float) -> str:
    """Say an interval of a difference: ``95 % interval 1.4 to 2.8 points above``."""
    lower, upper = interval
    head = f"{percent(level, 0)} interval"
    if not (math.isfinite(lower) and math.isfinite(upper)):
        return f"{head} not known"
    if lower < 0 < upper:
        return f"{head} {_size(lower, measure)} below to {gap(upper, measure)}"
    near, far = sorted((lower, upper), key=abs)
    return f"{head} {_size(near, measure)} to {gap(far, measure)}"


def _size(difference: float, measure: Measure) -> str:
    """Say a size whose unit the next words carry."""
    if measure == "pieces":
        return points(abs(difference)).removesuffix(" points")
    return per_100k(abs(difference)).partition(" per ")[0]


def listed(names: Sequence[str]) -> str:
    """Say names in a row: ``Alder, Birch and Cedar``."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
