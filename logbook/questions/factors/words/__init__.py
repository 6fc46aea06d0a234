"""What goes with a defect, in plain words: what is chosen first, then what the job brings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from logbook.adjusted_comparison import AdjustedCurve
from logbook.questions.factors.words.notes import go_together, misleading, remarks
from logbook.questions.factors.words.phrases import (
    JUDGED,
    effect_named,
    interval_of,
    level_named,
    named,
    ratio_interval,
    reference,
)
from logbook.runs.factors import compared, factor_label
from logbook.wording import (
    count_words,
    exposure_words,
    interval_words,
    number,
    rate_of,
    rate_only,
    rate_words,
    times,
    times_interval,
)

if TYPE_CHECKING:
    from logbook.questions.factors.result import FactorEffect, FactorsResult

__all__ = [
    "go_together",
    "headline",
    "headlines",
    "lines",
    "named",
    "notes",
    "pressing",
    "reference",
    "sentences",
    "title",
]

_GIVEN = compared("job")
_WHO = compared("surroundings", "people")
_CHOSEN = "Of what is chosen"
_NEARLY = 0.05
"""Two levels that together are nearly all of a factor say one thing from both sides."""
_HEADS = (_CHOSEN, "Of what the job brings", "Of machines and people", "By when it is judged")
NAMED = 2
"""How many of a kind a sentence names; the table has them all."""


def title(result: FactorsResult) -> str:
    """Say of which defect causes are looked for."""
    return f"what goes with {result.kind.label.lower()}"


def headline(result: FactorsResult) -> str:
    """Say what stands out, with its doubt and what it rests on."""
    return " ".join(headlines(result))


def headlines(result: FactorsResult) -> tuple[str, ...]:
    """The headline in parts: of what is chosen, of the job, of machines and people, of judging."""
    if not result.effects:
        return (
            "No setup factor varied, or none was recorded, so there is nothing to compare: "
            f"{count_words(result.kind.measure, result.count, result.exposure)}.",
        )
    groups: dict[str, list[FactorEffect]] = {head: [] for head in _HEADS}
    for each in _once(result.findings):
        groups[_group(each.adjusted.factor)].append(each)
    said = [f"{head}: {_directions(result, found)}." for head, found in groups.items() if found]
    if not said:
        return (_nothing(result),)
    if not groups[_CHOSEN]:
        said.insert(0, f"{_CHOSEN}: nothing stands out by more than luck.")
    return (f"{result.kind.label} on like jobs, each level against the others.", *said)


def pressing(result: FactorsResult) -> tuple[str, ...]:
    """Say where the crude figures mislead."""
    return misleading(result)


def sentences(result: FactorsResult) -> tuple[str, ...]:  # noqa: ARG001 - its tables say them
    """Nothing that the tables of findings and curves do not say."""
    return ()


def notes(result: FactorsResult) -> tuple[str, ...]:
    """Say how far to trust it, what cannot be told apart and what was left out."""
    return remarks(result)


def lines(result: FactorsResult) -> tuple[str, ...]:
    """One sentence or two for each finding, then one for each curve that rises or falls."""
    return (
        *(_line(result, each) for each in result.findings),
        *(_curve_line(result, curve) for curve in result.trends),
    )


def _nothing(result: FactorsResult) -> str:
    factors = len({each.adjusted.factor for each in result.effects})
    told = sum(each.comparable for each in result.effects)
    over = exposure_words(result.kind.measure, result.exposure)
    return (
        f"No setup factor goes with the {rate_of(result.kind.label)} by more than luck: {told} "
        f"levels of {factors} factors were compared on like jobs, over {over} with "
        f"{number(result.count)} counted."
    )


def _group(factor: str) -> str:
    for head, factors in zip(_HEADS[1:], (_GIVEN, _WHO, JUDGED), strict=True):
        if factor in factors:
            return head
    return _CHOSEN


def _once(findings: Sequence[FactorEffect]) -> list[FactorEffect]:
    """Leave out the second of two findings that are one seen from both sides."""
    kept: list[FactorEffect] = []
    for each in findings:
        twin = any(
            other.adjusted.factor == each.adjusted.factor
            and (other.adjusted.ratio > 1) != (each.adjusted.ratio > 1)
            and math.isclose(other.adjusted.exposure, each.crude.others_exposure, rel_tol=_NEARLY)
            for other in kept
        )
        if not twin:
            kept.append(each)
    return kept


def _directions(result: FactorsResult, found: Sequence[FactorEffect]) -> str:
    higher = [each for each in found if each.adjusted.ratio > 1]
    lower = [each for each in found if each.adjusted.ratio <= 1]
    return "; ".join(
        f"{word} with {_listed(result, own)}"
        for word, own in (("more", higher), ("less", lower))
        if own
    )


def _listed(result: FactorsResult, found: Sequence[FactorEffect]) -> str:
    said = [_short(result, each) for each in found[:NAMED]]
    if len(found) > NAMED:
        said.append(f"{len(found) - NAMED} more")
    return said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"


def _short(result: FactorsResult, each: FactorEffect) -> str:
    unit = "pieces" if result.kind.measure == "pieces" else "stitches"
    return (
        f"{effect_named(each)} ({times(each.adjusted.ratio)}, {ratio_interval(each)}, over "
        f"{number(each.adjusted.exposure)} {unit})"
    )


def _line(result: FactorsResult, each: FactorEffect) -> str:
    """Say one level: on like jobs, against the others, and all that was counted."""
    adjusted, measure = each.adjusted, result.kind.measure
    crude = rate_words(
        measure,
        adjusted.count,
        adjusted.exposure,
        adjusted.crude_rate,
        each.crude.interval,
        level=result.level,
    )
    interval = interval_of(result.level, interval_words(measure, adjusted.rate_interval))
    said = (
        f"{each.factor_label}: {each.level_label}: on like jobs "
        f"{rate_only(measure, adjusted.rate)} ({interval}) against "
        f"{rate_only(measure, adjusted.others_rate)} with {reference(each)}, "
        f"{times(adjusted.ratio)} theirs ({ratio_interval(each)}); on all jobs {crude}."
    )
    if each.aliases:
        aliases = " or ".join(named(*alias) for alias in each.aliases)
        said += f" It cannot be told apart from {aliases}."
    return said


def _curve_line(result: FactorsResult, curve: AdjustedCurve) -> str:
    """Say how a rate goes along an ordered factor."""
    measure = result.kind.measure
    ends = [
        f"{rate_only(measure, each.rate)} "
        f"({interval_of(result.level, interval_words(measure, each.interval))}) at "
        f"{level_named(curve.factor, each.level)}"
        for each in (curve.points[0], curve.points[-1])
    ]
    interval = interval_of(result.level, times_interval(curve.per_step_interval))
    return (
        f"{factor_label(curve.factor)}: the {rate_of(result.kind.label)} "
        f"{'rises' if curve.per_step > 1 else 'falls'} along it, from {ends[0]} to {ends[1]}, "
        f"{times(curve.per_step)} a step up ({interval}), all over the same "
        f"{exposure_words(measure, curve.exposure)}."
    )
