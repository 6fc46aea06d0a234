"""What would mislead in a search for causes, and what to keep in mind."""

from __future__ import annotations

from collections.abc import Sequence

from logbook.adjusted_comparison.factors import FALSE_FINDINGS, LITTLE_SHARED
from logbook.good_piece import same_word
from logbook.kernels.setup_model.levels import FEWEST_RUNS
from logbook.questions.factors import sentences
from logbook.questions.factors.result import FactorEffect, FactorsResult
from logbook.questions.factors.sentences import named, rests_on
from logbook.runs.factors import factor_label, level_label
from logbook.shop import Shop
from logbook.wording import number, percent

MUCH_UNSAID = 0.05
"""From this share on, what is not recorded of a factor is worth saying."""


def warnings_of(result: FactorsResult) -> tuple[str, ...]:
    """Say where the crude figures mislead."""
    wiped = [each for each in result.effects if each.misled == "wiped_out"]
    return (
        *(sentences.misleads(result, each) for each in result.effects if each.misled == "reversed"),
        *((sentences.wiped_out(result, wiped),) if wiped else ()),
    )


def notes_of(result: FactorsResult, shop: Shop, fit_warnings: Sequence[str]) -> tuple[str, ...]:
    """Say how far to trust it, what cannot be told apart and what was left out."""
    return (
        *_method(result),
        *fit_warnings,
        *_alone(result),
        *(sentences.together(each) for each in result.together),
        *_not_comparable(result),
        *_without_a_defect(result),
        *_unsaid(result),
        *_off_the_curve(result),
        *_people(result),
        *_same_mill(result, shop),
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
            f"about {percent(FALSE_FINDINGS, 0)} of the findings may be false." + _wider(result)
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
    level = result.findings[0].fair.ratio_level
    return (
        f" The ratio of a finding has a {percent(level, 0)} interval, as the most striking of "
        "many is apt to be partly luck."
    )


def _alone(result: FactorsResult) -> list[str]:
    notes = []
    one = [
        f"{factor_label(factor)} ({level_label(factor, level)})"
        for factor, level in result.alone.items()
        if level is not None
    ]
    none = [factor_label(factor) for factor, level in result.alone.items() if level is None]
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
        f"{named(each.fair.factor, each.fair.level)} "
        f"({percent(each.fair.like_for_like_share, 0)} of its "
        f"{rests_on(each.fair.exposure, result.kind.measure)})"
        for each in result.effects
        if each.comparable and each.fair.like_for_like_share < LITTLE_SHARED
    ]
    if little:
        notes.append(
            "Less than half lies on jobs that others were used on too, and the comparison speaks "
            f"for those alone: {', '.join(little)}."
        )
    return notes


def _named(result: FactorsResult, effects: Sequence[FactorEffect]) -> str:
    return ", ".join(
        f"{named(each.fair.factor, each.fair.level)} "
        f"({rests_on(each.fair.exposure, result.kind.measure)})"
        for each in effects
    )


def _without_a_defect(result: FactorsResult) -> list[str]:
    clean = [
        f"{named(each.fair.factor, each.fair.level)} (0 in "
        f"{rests_on(each.fair.exposure, result.kind.measure)}: probably fewer than 3 in as many)"
        for each in result.effects
        if each.fair.count == 0
    ]
    return [f"Without a single one so far: {', '.join(clean)}."] if clean else []


def _unsaid(result: FactorsResult) -> list[str]:
    said: dict[str, float] = {}
    for each in result.effects:
        said[each.fair.factor] = said.get(each.fair.factor, 0.0) + each.fair.exposure
    missing = [
        f"{factor_label(factor)} ({percent(1 - exposure / result.exposure, 0)})"
        for factor, exposure in said.items()
        if 1 - exposure / result.exposure >= MUCH_UNSAID
    ]
    if not missing:
        return []
    return [
        f"Of the {rests_on(result.exposure, result.kind.measure)}, some do not say a level and are "
        f"left out of that factor's comparison: {', '.join(missing)}."
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
    operators = [each for each in result.findings if each.fair.factor == "operator"]
    if not operators:
        return []
    return [
        f"{number(len(operators))} of the findings {'is' if len(operators) == 1 else 'are'} of an "
        "operator: it also holds what the run sheet does not say, such as hard jobs given to the "
        "best hands, or who counts most strictly."
    ]


def _same_mill(result: FactorsResult, shop: Shop) -> list[str]:
    suppliers = [
        each.fair.level for each in result.effects if each.fair.factor == "backing_supplier"
    ]
    notes = []
    for mill in shop.same_mill:
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
