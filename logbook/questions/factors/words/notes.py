"""What would mislead in a search for causes, and what to keep in mind."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from logbook.adjusted_comparison import Aliased
from logbook.adjusted_comparison.factors import FALSE_DISCOVERY_RATE, LITTLE_SHARED
from logbook.good_piece import same_word
from logbook.kernels.setup_model.levels import FEWEST_RUNS
from logbook.questions.factors.words.phrases import (
    effect_named,
    lowered,
    named,
    raised,
    ratio_interval,
    reference,
)
from logbook.runs.factors import factor_label, level_label
from logbook.wording import exposure_words, number, percent, rate_of, rate_only, times

if TYPE_CHECKING:
    from logbook.questions.factors.result import FactorEffect, FactorsResult

MUCH_UNSAID = 0.05
"""From this share on, what is not recorded of a factor is worth saying."""
NAMED = 2
"""How many that are wiped out a sentence names."""


def misleading(result: FactorsResult) -> tuple[str, ...]:
    """Say where the crude figures mislead."""
    wiped = [each for each in result.effects if each.confounding == "wiped_out"]
    turned = (each for each in result.effects if each.confounding == "reversed")
    return (
        *(_reversed(result, each) for each in turned),
        *((_wiped_out(result, wiped),) if wiped else ()),
    )


def remarks(result: FactorsResult) -> tuple[str, ...]:
    """Say how far to trust it, what cannot be told apart and what was left out."""
    return (
        *_method(result),
        *result.fit_warnings,
        *_never_varied(result),
        *(go_together(each) for each in result.aliased),
        *_not_comparable(result),
        *_without_a_defect(result),
        *_unsaid(result),
        *_off_the_curve(result),
        *_people(result),
        *_same_mill(result),
    )


def _reversed(result: FactorsResult, each: FactorEffect) -> str:
    """Warn that the crude rate points another way than the adjusted comparison."""
    adjusted, crude, measure = each.adjusted, each.crude, result.kind.measure
    above = crude.ratio > 1
    over = exposure_words(measure, adjusted.exposure)
    return (
        f"All jobs thrown together, the {rate_of(result.kind.label)} with {effect_named(each)} is "
        f"{'higher' if above else 'lower'} than with {reference(each)} ("
        f"{rate_only(measure, crude.rate)} against {rate_only(measure, crude.others_rate)}, over "
        f"{over} against {number(crude.others_exposure)}), but on like jobs it is"
        f" {times(adjusted.ratio)} theirs ({ratio_interval(each)}). It got the "
        f"{'harder' if above else 'easier'} jobs: trust the like-for-like figure."
    )


def _wiped_out(result: FactorsResult, found: Sequence[FactorEffect]) -> str:
    """Warn of crude differences that like jobs do not bear out, the widest gaps first."""
    measure = result.kind.measure
    widest = sorted(found, key=lambda each: -abs(math.log(each.crude.ratio / each.adjusted.ratio)))
    said = [
        f"{effect_named(each)} (all jobs {rate_only(measure, each.crude.rate)} against "
        f"{rate_only(measure, each.crude.others_rate)}, over "
        f"{exposure_words(measure, each.adjusted.exposure)}; on like jobs "
        f"{times(each.adjusted.ratio)}, {ratio_interval(each)})"
        for each in widest[:NAMED]
    ]
    if len(widest) > NAMED:
        more = len(widest) - NAMED
        said.append(f"and {more} more level{'' if more == 1 else 's'}")
    head = "Over all jobs these stand out from the others, on like jobs they do not"
    return f"{head}: {'; '.join(said)}."


def go_together(each: Aliased) -> str:
    """Say what never varies apart."""
    nearly = "always" if each.share == 1 else "nearly always"
    one, other = lowered(factor_label(each.factor)), lowered(factor_label(each.other))
    runs = f"{number(each.runs)} runs"
    if each.level is not None:
        return (
            f"{raised(named(each.factor, each.level))} and {named(each.other, each.other_level)} "
            f"{nearly} go together (in {percent(each.share, 0)} of the {runs} with either): what "
            "one does cannot be told from what the other does."
        )
    if each.both_ways:
        return (
            f"{raised(one)} and {other} {nearly} vary together, over {runs}: what one does cannot "
            "be told from what the other does."
        )
    return (
        f"Each level of {one} {nearly} has one level of {other}, over {runs}: what {other} does "
        f"cannot be told from what {one} does."
    )


def _method(result: FactorsResult) -> list[str]:
    notes = []
    if result.effects:
        notes.append(
            "Each level is set against the factor's other levels on like jobs, allowing for "
            "lots, designs and everything else on the run sheet. What is not on it may still be "
            "behind a difference: a finding is a reason for a fair trial, not proof of a cause."
        )
        tested = sum(each.comparable for each in result.effects)
        notes.append(
            f"{tested} levels were looked at side by side; a level is called a finding so that "
            f"about {percent(FALSE_DISCOVERY_RATE, 0)} of the findings may be false."
            + _wider(result)
        )
    apart = [named(factor, word) for factor, word in result.set_apart]
    if apart:
        notes.append(
            "What departs most is not among the others that the rest of its factor is set "
            f"against: {', '.join(apart)}."
        )
    if result.kind.measure == "events":
        notes.append(
            f"{result.kind.label} are counted per stitch: there are stitches sewn instead of "
            "pieces inspected."
        )
    if not result.kind.charged_to_setup:
        notes.append(
            f"{result.kind.label} came in with the goods: no setup can be blamed for them."
        )
    return notes


def _wider(result: FactorsResult) -> str:
    if not result.findings:
        return ""
    level = result.findings[0].adjusted.ratio_level
    return (
        f" The ratio of a finding has a {percent(level, 0)} interval, as the most striking of "
        "many is apt to be partly luck."
    )


def _never_varied(result: FactorsResult) -> list[str]:
    notes = []
    one = [
        f"{factor_label(factor)} ({level_label(factor, level)})"
        for factor, level in result.never_varied.items()
        if level is not None
    ]
    none = [factor_label(factor) for factor, level in result.never_varied.items() if level is None]
    if one:
        notes.append(f"Always the same, so nothing can be said of it: {', '.join(one)}.")
    if none:
        notes.append(f"Not recorded, so nothing can be said of it: {', '.join(none)}.")
    return notes


def _not_comparable(result: FactorsResult) -> list[str]:
    notes = []
    apart = [each for each in result.effects if not each.comparable]
    if apart:
        notes.append(
            f"On no jobs on which the others were used too, with {FEWEST_RUNS} runs of both, so "
            "that what the job does cannot be told from what it does: "
            f"{_named(result, apart)}."
        )
    little = [
        f"{effect_named(each)} "
        f"({percent(each.adjusted.like_for_like_share, 0)} of its "
        f"{exposure_words(result.kind.measure, each.adjusted.exposure)})"
        for each in result.effects
        if each.comparable and each.adjusted.like_for_like_share < LITTLE_SHARED
    ]
    if little:
        notes.append(
            "Less than half lies on jobs that others were used on too, and the comparison speaks "
            f"for those alone: {', '.join(little)}."
        )
    return notes


def _named(result: FactorsResult, effects: Sequence[FactorEffect]) -> str:
    return ", ".join(
        f"{effect_named(each)} ({exposure_words(result.kind.measure, each.adjusted.exposure)})"
        for each in effects
    )


def _without_a_defect(result: FactorsResult) -> list[str]:
    clean = [
        f"{effect_named(each)} (0 in "
        f"{exposure_words(result.kind.measure, each.adjusted.exposure)}: probably fewer than 3 in "
        "as many)"
        for each in result.effects
        if each.adjusted.count == 0
    ]
    return [f"Without a single one so far: {', '.join(clean)}."] if clean else []


def _unsaid(result: FactorsResult) -> list[str]:
    said: dict[str, float] = {}
    for each in result.effects:
        said[each.adjusted.factor] = said.get(each.adjusted.factor, 0.0) + each.adjusted.exposure
    missing = [
        f"{factor_label(factor)} ({percent(1 - exposure / result.exposure, 0)})"
        for factor, exposure in said.items()
        if 1 - exposure / result.exposure >= MUCH_UNSAID
    ]
    if not missing:
        return []
    whole = exposure_words(result.kind.measure, result.exposure)
    return [
        f"Of the {whole}, some do not say a level and are left out of"
        f" that factor's comparison: {', '.join(missing)}."
    ]


def _off_the_curve(result: FactorsResult) -> list[str]:
    notes = []
    for curve in result.curves:
        if not curve.points:
            notes.append(
                f"{factor_label(curve.factor)}: no two levels were used on the same jobs, so there "
                "is no curve."
            )
        elif curve.left_out:
            levels = ", ".join(level_label(curve.factor, each) for each in curve.left_out)
            notes.append(
                f"{factor_label(curve.factor)}: not on the curve, as used on too few of the same "
                f"jobs: {levels}."
            )
    return notes


def _people(result: FactorsResult) -> list[str]:
    operators = [each for each in result.findings if each.adjusted.factor == "operator"]
    if not operators:
        return []
    return [
        f"{number(len(operators))} of the findings {'is' if len(operators) == 1 else 'are'} of an "
        "operator: it also holds what the run sheet does not say, such as hard jobs given to the "
        "best hands, or who counts most strictly."
    ]


def _same_mill(result: FactorsResult) -> list[str]:
    suppliers = [
        each.adjusted.level for each in result.effects if each.adjusted.factor == "backing_supplier"
    ]
    notes = []
    for mill in result.same_mill:
        own = sorted(
            name for name in suppliers if any(same_word(name, said) for said in mill.suppliers)
        )
        if len(own) > 1:
            on = f" {level_label('backing', mill.backing).lower()}" if mill.backing else " backing"
            notes.append(
                f"{' and '.join(own)} are marked as selling the same mill's{on}: a difference "
                "between them there would be one of lots or jobs, not of make."
            )
    return notes
