"""What goes with a defect, in plain words: what is chosen first, then what the job brings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from logbook.adjusted_comparison import FairCurve, Together
from logbook.kernels.points import Measure
from logbook.runs.factors import FACTORS, compared, factor_label, level_label
from logbook.vocabulary.defects import DefectKind
from logbook.wording import (
    count_words,
    interval_words,
    number,
    percent,
    rate_only,
    rate_words,
    times,
    times_interval,
)

if TYPE_CHECKING:
    from logbook.questions.factors.result import FactorEffect, FactorsResult

_GIVEN = compared("job")
_WHO = compared("surroundings", "people")
_JUDGED = compared("judging")
_CHOSEN = "Of what is chosen"
_NEARLY = 0.05
"""Two levels that together are nearly all of a factor say one thing from both sides."""
_HEADS = (_CHOSEN, "Of what the job brings", "Of machines and people", "By when it is judged")
_WORDED = {each.column for each in FACTORS if each.bands or each.of.choices}
"""Factors whose levels are common words, and not names."""
NAMED = 2
"""How many of a kind a sentence names; the table has them all."""


def rate_of(kind: DefectKind) -> str:
    """Name what is compared: ``rate of puckering``."""
    return f"rate of {kind.label[0].lower()}{kind.label[1:]}"


def named(factor: str, level: str | None) -> str:
    """Name a level within a sentence: ``backing supplier Cedar``, ``no topping``."""
    said = level_named(factor, level)
    if level == "none" or factor in _JUDGED:
        return said
    return f"{_lower(factor_label(factor))} {said}"


def level_named(factor: str, level: str | None) -> str:
    """Name a level where its factor is said already; the edges of bands are left to the table."""
    said = level_label(factor, level).partition(", ")[0]
    return _lower(said) if factor in _WORDED else said


def rests_on(exposure: float, measure: Measure) -> str:
    """Say ``8,120 pieces inspected`` or ``541,000 stitches sewn``."""
    return f"{number(exposure)} {'pieces inspected' if measure == 'pieces' else 'stitches sewn'}"


def _doubt(level: float, said: str) -> str:
    return f"{percent(level, 0)} interval {said}"


def _ratio_doubt(each: FactorEffect) -> str:
    return _doubt(each.fair.ratio_level, times_interval(each.fair.ratio_interval))


def headlines(result: FactorsResult) -> tuple[str, ...]:
    """Say what stands out: of what is chosen, of the job, of machines and people, of judging."""
    if not result.effects:
        return (
            "No setup factor varied, or none was recorded, so there is nothing to compare: "
            f"{count_words(result.kind.measure, result.count, result.exposure)}.",
        )
    groups: dict[str, list[FactorEffect]] = {head: [] for head in _HEADS}
    for each in _once(result.findings):
        groups[_group(each.fair.factor)].append(each)
    said = [f"{head}: {_directions(result, found)}." for head, found in groups.items() if found]
    if not said:
        return (_nothing(result),)
    if not groups[_CHOSEN]:
        said.insert(0, f"{_CHOSEN}: nothing stands out by more than luck.")
    return (f"{result.kind.label} on like jobs, each level against the others.", *said)


def _nothing(result: FactorsResult) -> str:
    factors = len({each.fair.factor for each in result.effects})
    told = sum(each.comparable for each in result.effects)
    return (
        f"No setup factor goes with the {rate_of(result.kind)} by more than luck: {told} levels of "
        f"{factors} factors were compared on like jobs, over "
        f"{rests_on(result.exposure, result.kind.measure)} with {number(result.count)} counted."
    )


def _group(factor: str) -> str:
    for head, factors in zip(_HEADS[1:], (_GIVEN, _WHO, _JUDGED), strict=True):
        if factor in factors:
            return head
    return _CHOSEN


def _once(findings: Sequence[FactorEffect]) -> list[FactorEffect]:
    """Leave out the second of two findings that are one seen from both sides."""
    kept: list[FactorEffect] = []
    for each in findings:
        twin = any(
            other.fair.factor == each.fair.factor
            and (other.fair.ratio > 1) != (each.fair.ratio > 1)
            and math.isclose(other.fair.exposure, each.crude.others_exposure, rel_tol=_NEARLY)
            for other in kept
        )
        if not twin:
            kept.append(each)
    return kept


def _directions(result: FactorsResult, found: Sequence[FactorEffect]) -> str:
    higher = [each for each in found if each.fair.ratio > 1]
    lower = [each for each in found if each.fair.ratio <= 1]
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
    fair = each.fair
    return (
        f"{named(fair.factor, fair.level)} ({times(fair.ratio)}, {_ratio_doubt(each)}, over "
        f"{number(fair.exposure)} {'pieces' if result.kind.measure == 'pieces' else 'stitches'})"
    )


def line(result: FactorsResult, each: FactorEffect) -> str:
    """Say one level: on like jobs, against the others, and all that was counted."""
    fair, measure = each.fair, result.kind.measure
    crude = rate_words(
        measure, fair.count, fair.exposure, fair.crude_rate, each.crude.interval, level=result.level
    )
    said = (
        f"{each.factor_label}: {each.level_label}: on like jobs {rate_only(measure, fair.rate)} "
        f"({_doubt(result.level, interval_words(measure, fair.rate_interval))}) against "
        f"{rate_only(measure, fair.others_rate)} with the others, {times(fair.ratio)} theirs "
        f"({_ratio_doubt(each)}); on all jobs {crude}."
    )
    if each.inseparable:
        said += f" It cannot be told apart from {' or '.join(each.inseparable)}."
    return said


def curve_line(result: FactorsResult, curve: FairCurve) -> str:
    """Say how a rate goes along an ordered factor."""
    measure = result.kind.measure
    ends = [
        f"{rate_only(measure, each.rate)} "
        f"({_doubt(result.level, interval_words(measure, each.interval))}) at "
        f"{level_named(curve.factor, each.level)}"
        for each in (curve.points[0], curve.points[-1])
    ]
    return (
        f"{factor_label(curve.factor)}: the {rate_of(result.kind)} "
        f"{'rises' if curve.per_step > 1 else 'falls'} along it, from {ends[0]} to {ends[1]}, "
        f"{times(curve.per_step)} a step up "
        f"({_doubt(result.level, times_interval(curve.per_step_interval))}), all over the same "
        f"{rests_on(curve.exposure, measure)}."
    )


def misleads(result: FactorsResult, each: FactorEffect) -> str:
    """Warn that the crude rate points another way than the fair comparison."""
    fair, crude, measure = each.fair, each.crude, result.kind.measure
    above = crude.ratio > 1
    what = named(fair.factor, fair.level)
    return (
        f"All jobs thrown together, the {rate_of(result.kind)} with {what} is "
        f"{'higher' if above else 'lower'} than with the others ("
        f"{rate_only(measure, crude.rate)} against {rate_only(measure, crude.others_rate)}, over "
        f"{rests_on(fair.exposure, measure)} against {number(crude.others_exposure)}), but on like "
        f"jobs it is {times(fair.ratio)} theirs ({_ratio_doubt(each)}). It got the "
        f"{'harder' if above else 'easier'} jobs: trust the like-for-like figure."
    )


def wiped_out(result: FactorsResult, found: Sequence[FactorEffect]) -> str:
    """Warn of crude differences that like jobs do not bear out, the widest gaps first."""
    measure = result.kind.measure
    widest = sorted(found, key=lambda each: -abs(math.log(each.crude.ratio / each.fair.ratio)))
    said = [
        f"{named(each.fair.factor, each.fair.level)} (all jobs "
        f"{rate_only(measure, each.crude.rate)} against "
        f"{rate_only(measure, each.crude.others_rate)}, over "
        f"{rests_on(each.fair.exposure, measure)}; on like jobs {times(each.fair.ratio)}, "
        f"{_ratio_doubt(each)})"
        for each in widest[:NAMED]
    ]
    if len(widest) > NAMED:
        more = len(widest) - NAMED
        said.append(f"and {more} more level{'' if more == 1 else 's'}")
    head = "Over all jobs these stand out from the others, on like jobs they do not"
    return f"{head}: {'; '.join(said)}."


def together(each: Together) -> str:
    """Say what never varies apart."""
    nearly = "always" if each.share == 1 else "nearly always"
    one, other = _lower(factor_label(each.factor)), _lower(factor_label(each.other))
    runs = f"{number(each.runs)} runs"
    if each.level is not None:
        return (
            f"{_first(named(each.factor, each.level))} and {named(each.other, each.other_level)} "
            f"{nearly} go together (in {percent(each.share, 0)} of the {runs} with either): what "
            "one does cannot be told from what the other does."
        )
    if each.both_ways:
        return (
            f"{_first(one)} and {other} {nearly} vary together, over {runs}: what one does cannot "
            "be told from what the other does."
        )
    return (
        f"Each level of {one} {nearly} has one level of {other}, over {runs}: what {other} does "
        f"cannot be told from what {one} does."
    )


def _lower(label: str) -> str:
    return f"{label[0].lower()}{label[1:]}"


def _first(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}"
