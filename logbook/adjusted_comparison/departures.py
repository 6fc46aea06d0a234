"""Which machine or person departs from the rest: one bad machine does not make three good ones.

A level is set against its factor's other levels. Where one of them is bad, the others look good
beside a group that holds it. So of machines, people and the like, which should be equal, the one
that departs most is set apart and the rest are judged again without it, as in forward tests for
outliers. Fabrics and backings are not taken for equal: there the others are all others.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from logbook.adjusted_comparison.rows import CodedRows
from logbook.kernels.multiplicity import false_discovery_by_family
from logbook.kernels.setup_model import NO_LEVEL
from logbook.kernels.setup_model.effects import LevelEffect
from logbook.kernels.setup_model.setups import IntArray
from logbook.runs.factors import compared

Apart: TypeAlias = tuple[int, ...]
"""Codes of levels that the others do not hold."""
SHOULD_BE_EQUAL = compared("surroundings", "people")
MOST_APART = 3
"""Levels of one factor that are set apart; where more depart, there is no rest to speak of."""


@dataclass(frozen=True, slots=True, eq=False)
class JudgedLevel:
    """One level, by its code, against the others without those set ``apart`` before it.

    ``found`` is None where it shares no jobs with them.
    """

    factor: str
    code: int
    found: LevelEffect | None
    q_value: float = math.nan
    apart: Apart = ()

    @property
    def p_value(self) -> float:
        """Of the comparison; NaN where there is none."""
        return math.nan if self.found is None else self.found.p_value


def depart(
    asked: Sequence[tuple[str, int]],
    *,
    judge: Callable[[Sequence[tuple[str, int]], Mapping[str, Apart]], Sequence[LevelEffect | None]],
    rate: float,
) -> tuple[JudgedLevel, ...]:
    """Judge levels, the rest of a factor again without each that departs.

    Parameters
    ----------
    asked
        Factor and code of each level.
    judge
        Sets each level against its factor's others but for those apart.
    rate
        False discovery rate at which a level departs.

    Returns
    -------
    tuple of JudgedLevel
        In the order asked. Of two levels that are left neither is set apart: which of them
        departs cannot be told.
    """
    judged = zip(asked, judge(asked, {}), strict=True)
    found = _with_q([JudgedLevel(name, code, each) for (name, code), each in judged])
    apart: dict[str, Apart] = {}
    for _ in range(MOST_APART):
        new = _farthest(found, apart, rate)
        if not new:
            break
        apart |= {name: (*apart.get(name, ()), code) for name, code in new.items()}
        again = [
            (each.factor, each.code)
            for each in found
            if each.factor in new and each.code not in apart[each.factor]
        ]
        anew = dict(zip(again, judge(again, apart), strict=True))
        found = _with_q([_judged_anew(each, anew, apart) for each in found])
    return tuple(found)


def _judged_anew(
    each: JudgedLevel,
    anew: Mapping[tuple[str, int], LevelEffect | None],
    apart: Mapping[str, Apart],
) -> JudgedLevel:
    level = each.factor, each.code
    return replace(each, found=anew[level], apart=apart[each.factor]) if level in anew else each


def _with_q(found: Sequence[JudgedLevel]) -> list[JudgedLevel]:
    q_values = false_discovery_by_family(
        p_values=np.array([each.p_value for each in found]),
        family=np.array([each.factor for each in found]),
    )
    return [replace(each, q_value=float(q)) for each, q in zip(found, q_values, strict=True)]


def _farthest(
    found: Sequence[JudgedLevel], apart: Mapping[str, Apart], rate: float
) -> dict[str, int]:
    """Of each factor with three levels or more left, the one that departs most, if any does."""
    left: dict[str, list[JudgedLevel]] = {}
    for each in found:
        if each.found is not None and each.code not in apart.get(each.factor, ()):
            left.setdefault(each.factor, []).append(each)
    farthest = {
        name: min(levels, key=lambda each: each.p_value)
        for name, levels in left.items()
        if name in SHOULD_BE_EQUAL and len(levels) > 2
    }
    return {name: each.code for name, each in farthest.items() if each.q_value <= rate}


def without(rows: CodedRows, factor: str, strata: Mapping[str, IntArray], apart: Apart) -> IntArray:
    """Strata of a factor, (m,), with rows of the levels apart in none."""
    if not apart:
        return strata[factor]
    return np.where(np.isin(rows.setups.factors[factor], apart), NO_LEVEL, strata[factor])
