"""What is said of trials: take it, leave it or cannot tell, and what was seen on the way."""

from __future__ import annotations

import math
from collections.abc import Sequence

from logbook.questions.table import Section
from logbook.questions.trials.result import TrialJudged, TrialsResult
from logbook.runs.factors import factor_label
from logbook.runs.trial_pairs import NextLoad
from logbook.runs.trials import Trial
from logbook.wording import money, number, percent, points, rate_only, so_many

NO_TRIAL = "No trial is kept yet. Plan one: change one thing, sew both ways in turn, and compare."
MANY_OUT_OF_ORDER = 0.2
"""Of more pairs than this share, a broken order may have chosen who went first."""
USELESS = 8.0
"""An interval so many times as wide as the difference worth having is not worth a word."""
SOURCE = (
    "Looks are paid for by bounds of the O'Brien-Fleming type (Lan & DeMets 1983), so that the "
    "intervals of all looks hold together; each look is Student's test on the pairs, which are the "
    "sample, not the pieces."
)


def title(result: TrialsResult) -> str:
    """Say which trial, or that it is about all."""
    judged = result.judged
    return "trials" if judged is None else f"trial {judged.kept.ref}"


def headline(result: TrialsResult) -> str:
    """The verdict of the judged trial; else how many there are."""
    if result.judged is not None:
        return verdict_words(result.judged, result.currency)
    if not result.trials:
        return NO_TRIAL
    states = [each.trial.state for each in result.trials]
    said = [f"{number(states.count(state))} {state}" for state in dict.fromkeys(states)]
    return f"{so_many(len(states), 'trial')}: {', '.join(said)}. Name one to judge it."


def pressing(result: TrialsResult) -> tuple[str, ...]:
    """What would mislead if it were not said beside the verdict."""
    judged = result.judged
    if judged is None:
        return ()
    said = []
    if worse := [each.label.lower() for each in judged.kinds if each.worse]:
        said.append(f"The change brings more {' and '.join(worse)}: look at that before taking it.")
    out, pairs = len(judged.out_of_order), len(judged.sewn.pairs)
    if pairs and out > MANY_OUT_OF_ORDER * pairs:
        said.append(
            f"{so_many(out, 'pair')} of {number(pairs)} were not sewn in the drawn order: whoever "
            "chose may have chosen by what they expected."
        )
    return tuple(said)


def sentences(result: TrialsResult) -> tuple[str, ...]:
    """The figures behind the verdict, and what comes next."""
    judged = result.judged
    if judged is None:
        return tuple(f"{each.ref}, {each.trial.state}: {each.trial.title}"
                     for each in result.trials)  # fmt: skip
    return (
        *_rates(judged),
        *_in_money(judged, result.currency),
        *_progress(judged),
        *(f"{name + ': ' if name else ''}{load_words(judged.kept.trial, load)}"
          for name, load in judged.next_loads.items()),
    )  # fmt: skip


def sections(result: TrialsResult) -> tuple[Section, ...]:
    """What went otherwise than planned."""
    seen = () if result.judged is None else departures(result.judged)
    return (Section("What went otherwise than planned", seen),) if seen else ()


def notes(result: TrialsResult) -> tuple[str, ...]:
    """How it is judged, and what it does not hold for."""
    judged = result.judged
    if judged is None:
        return ()
    trial = judged.kept.trial
    said = [SOURCE, "Every kind of defect is looked at; only the one named beforehand decides."]
    if any(each.column.startswith(("backing", "weight")) for each in trial.changes):
        lots = f"{judged.lots['as now']} as now, {judged.lots['changed']} changed"
        said.append(
            f"The answer holds for the lots of backing sewn with ({lots})."
            if trial.lot_sd == 0
            else f"How far lots differ is in the interval ({lots})."
        )
    if judged.money == judged.money and trial.cost_per_defective is not None:
        material = (
            "material is not counted, as a price is not known"
            if trial.extra_material is None
            else "the difference in material is counted"
        )
        said.append(f"A defective piece is taken at what the record says it costs; {material}.")
    return tuple(said)


def verdict_words(judged: TrialJudged, currency: str) -> str:
    """Say in a sentence what to do."""
    trial = judged.kept.trial
    fewer = points(abs(judged.difference))
    label = judged.defect_label.lower()
    worth = f"{points(trial.smallest_difference)}"
    if judged.because == "better":
        saved = (
            "" if math.isnan(judged.money) else f", {money(judged.money, currency)} in 100 pieces"
        )
        return f"Take it: the change brings {fewer} less {label}{saved}."
    if judged.because == "dearer":
        return (
            f"Leave it: it brings {fewer} less {label}, but its material costs more than that "
            f"saves ({money(judged.money, currency)} in 100 pieces)."
        )
    if judged.because == "worse":
        return f"Leave it: the change brings {fewer} more {label}."
    if judged.because == "too_small":
        return f"Leave it: if it helps at all, it saves less than the {worth} worth having."
    if judged.because == "complete":
        more = (
            "more of the same would hardly tell"
            if judged.pairs_more is None
            else f"about {so_many(judged.pairs_more, 'pair')} more would tell"
        )
        return f"Cannot tell: all {number(trial.pairs)} pairs are sewn; {more}."
    counted = len(judged.sewn.counted)
    if judged.kept.trial.state == "ended":
        return f"Cannot tell: it was ended after {number(counted)} of {number(trial.pairs)} pairs."
    return f"Cannot tell yet: {number(counted)} of {number(trial.pairs)} pairs are sewn."


def departures(judged: TrialJudged) -> tuple[str, ...]:
    """Say each thing that was not as planned, and what was made of it."""
    said = [
        f"Run {ref} says one arm and its setup shows the other: it counts as it was sewn."
        for ref in judged.sewn.swapped
    ]
    if judged.out_of_order:
        which = ", ".join(number(each) for each in judged.out_of_order)
        said.append(f"Sewn in the other order than drawn, and counted: pair {which}.")
    for pair in judged.sewn.pairs:
        if not pair.counts:
            what = ", ".join(factor_label(each).lower() for each in pair.differs)
            said.append(f"Pair {pair.number} does not count: {what} changed within it.")
    said += [f"Run {ref} does not count: {why}." for ref, why in judged.sewn.left_out.items()]
    return tuple(said)


def load_words(trial: Trial, load: NextLoad) -> str:
    """Say what is sewn next: ``Next, pair 3, load 1 of 2: 24 pieces. Changed (…)``."""
    half = "load 2 of 2" if load.second else "load 1 of 2"
    arm = trial.arm_words(load.arm)
    return f"Next, pair {load.pair}, {half}: {so_many(load.pieces, 'piece')}. {arm}"


def planned_words(trial: Trial) -> str:
    """Say the size of a trial: ``42 pairs of 24 pieces as now and 24 changed (2,016 in all)``."""
    each = number(trial.pieces_per_arm)
    return (
        f"{so_many(trial.pairs, 'pair')} of {each} pieces as now and {each} changed "
        f"({number(trial.pieces)} in all)"
    )


def _rates(judged: TrialJudged) -> tuple[str, ...]:
    if math.isnan(judged.difference):
        return ()
    said = (
        f"{judged.defect_label}: {percent(judged.rate_now)} as now, "
        f"{percent(judged.rate_changed)} changed, in {number(judged.pieces)} pieces"
    )
    if _too_early(judged):
        return (f"{said}; too few pairs yet to say more.",)
    lower, upper = (100 * each for each in judged.interval)
    return (f"{said}: {_signed(lower)} to {_signed(upper)} points, looking often allowed for.",)


def _in_money(judged: TrialJudged, currency: str) -> tuple[str, ...]:
    low, high = judged.money_interval
    if _too_early(judged) or not math.isfinite(judged.money):
        return ()
    return (
        f"In 100 pieces it saves {money(judged.money, currency)} "
        f"({money(low, currency)} to {money(high, currency)}).",
    )


def _too_early(judged: TrialJudged) -> bool:
    """Whether the interval says nothing yet: the first looks spend next to nothing."""
    lower, upper = judged.interval
    wide = USELESS * judged.kept.trial.smallest_difference
    return not judged.looks or not math.isfinite(lower) or upper - lower > wide


def _progress(judged: TrialJudged) -> tuple[str, ...]:
    trial = judged.kept.trial
    if trial.state == "planned":
        return ("It is planned and not started.",)
    if trial.state == "ended":
        why = f": {trial.why}" if trial.why else ""
        return (f"It ended on {trial.ended_on}{why}.",)
    if judged.may_end:
        return ("It can be ended now.",)
    if judged.next_look is not None:
        return (f"The next look is after pair {number(judged.next_look)}.",)
    return ()


def kind_words(result: TrialJudged) -> Sequence[tuple[str, str, str, str, str]]:
    """Rows of the table of kinds: label, as now, changed, difference, interval."""
    rows = []
    for each in result.kinds:
        scale = 100.0 if each.measure == "pieces" else 100_000.0
        low, high = each.interval
        known = math.isfinite(low) and math.isfinite(high)
        rows.append(
            (
                each.label,
                rate_only(each.measure, each.rate_now),
                rate_only(each.measure, each.rate_changed),
                _signed(each.difference * scale),
                f"{_signed(low * scale)} to {_signed(high * scale)}" if known else "not yet",
            )
        )
    return rows


def _signed(value: float) -> str:
    if not math.isfinite(value):
        return "not known"
    said = f"{abs(value):.1f}"
    sign = "" if float(said) == 0 else "\N{MINUS SIGN}" if value < 0 else "+"
    return f"{sign}{said}"
