"""What is folded on the weekly review says in its title what it holds: the finding, in words."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence

from logbook.calendar_weeks import days_of, days_words
from logbook.questions.control.result import ControlResult
from logbook.questions.costs.result import CostsResult
from logbook.questions.review.changes import Change
from logbook.questions.review.decided import Decided
from logbook.questions.review.reviewed import Defect, ReviewedWeek
from logbook.questions.review.runs import RunToLookAt
from logbook.questions.review.words.charts import unsaid
from logbook.questions.review.words.kinds import VERDICT_WORDS, verdict_words
from logbook.runs.factors import factor_label
from logbook.short_figures import rate_short
from logbook.wording import count_words, number, percent, so_many

NAMED = 3
"""So many are named in a title; the rest are counted."""
CANNOT_SAY = VERDICT_WORDS["cannot_say"]
UNSAID = "too little is known to say"
SIDES = (("above", "worse"), ("below", "better"))


def in_figures(result: ReviewedWeek) -> str:
    """Say how much the week's figures rest on."""
    runs = so_many(result.runs, "run")
    if result.any_defect is None or not result.any_defect.judged.exposure > 0:
        return f"The week in figures: {runs}, {number(result.pieces_inspected)} pieces inspected"
    judged = result.any_defect.judged
    counted = count_words(judged.kind.measure, judged.count, judged.exposure)
    return f"The week in figures: {runs}, {counted} with a defect"


def kinds_left(rest: Sequence[Defect]) -> str:
    """Say what the kinds that a table leaves out have come to."""
    verdicts = Counter(verdict_words(each) for each in rest)
    head = f"{number(len(rest))} more kinds of defect"
    if len(verdicts) == 1:
        (words,) = verdicts
        return (
            f"{head}, of all of which {UNSAID}" if words == CANNOT_SAY else f"{head}, all {words}"
        )
    unsaid = verdicts.pop(CANNOT_SAY, 0)
    said = listed(f"{count} {words}" for words, count in verdicts.most_common())
    return f"{head}: {said}; of {unsaid} {UNSAID}" if unsaid else f"{head}: {said}"


def standing_out_left(rest: Sequence[Defect]) -> str:
    """Name the further kinds that are more than luck, or worth watching."""
    named = [f"{_low(each)} ({verdict_words(each)})" for each in rest]
    return f"{number(len(rest))} more: {listed(named)}"


def changes(changed: Sequence[Change]) -> str:
    """Say what changed, factor by factor, without its figures."""
    factors: dict[str, list[str]] = {}
    for each in changed:
        factors.setdefault(each.factor, []).append(f"{each.level} {each.what}")
    return ". ".join(
        f"{factor_label(factor)}: {', '.join(levels)}" for factor, levels in factors.items()
    )


def dearest(result: CostsResult) -> str:
    """Say the shares of the kinds that come first."""
    counted = [each for each in result.costed.kinds if each.count > 0]
    shares = [(each, result.share(each)) for each in counted]
    named = [
        f"{each.kind.label.lower()} {percent(share, 0)}"
        for each, share in shares
        if math.isfinite(share)
    ][:NAMED]
    what = "costs" if result.by_cost else "counts"
    said = f"The {what} as a chart"
    return f"{said}: {listed(named)}" if named else said


def week_choice(week: str, *, later: bool) -> str:
    """Say a week with its days; one of which every run is dated after today is marked."""
    said = f"{week} · {days_words(week)}"
    return f"{said} {days_of(week)[1].year}, after today" if later else said


def over_the_weeks(chart: ControlResult, result: ReviewedWeek) -> str:
    """Say whether weeks stand out, and what the latest of them was like."""
    head = f"{chart.kind.label}: "
    if chart.points.height < 2:
        return f"{head}nothing to compare it with yet"
    weeks = len({signal.label for signal in chart.signals})
    if unsaid(chart, result):
        before = f"; {so_many(weeks, 'week')} before stood out" if weeks else ""
        return f"{head}too few this week to tell{before}"
    if not chart.signals:
        return f"{head}no week stands out"
    latest = chart.signals[-1]
    side = dict(SIDES)[latest.direction]
    if weeks == 1:
        return f"{head}week {latest.label} stands out, {side} than usual"
    return f"{head}{weeks} weeks stand out; the latest, {latest.label}, {side} than usual"


def further_signals(result: ControlResult) -> str:
    """Count the weeks that stand out, those worse than usual first."""
    said = []
    for direction, side in SIDES:
        weeks = {signal.label for signal in result.signals if signal.direction == direction}
        if weeks:
            said.append(f"{so_many(len(weeks), 'week')} {side} than usual")
    return f"Everything that stands out: {listed(said)}"


def runs_left(rest: Sequence[RunToLookAt]) -> str:
    """Say for which kinds the further runs are to be looked at."""
    kinds = Counter(each.excesses[0].kind.label.lower() for each in rest if each.excesses)
    return f"{so_many(len(rest), 'more run')}, for {listed(kinds)}"


def came_in(apart: Sequence[Defect]) -> str:
    """Say each fault that came in with the goods with its rate and verdict."""
    return ". ".join(f"{each.judged.kind.label}: {_came(each)}" for each in apart)


def _came(each: Defect) -> str:
    if not each.judged.exposure > 0:
        return "nothing recorded"
    unsaid_here = each.judged.verdict == "cannot_say"
    verdict = "too few to say" if unsaid_here else verdict_words(each)
    return f"{rate_short(each.judged.kind.measure, each.judged.rate)}, {verdict}"


def actions_before(rest: Sequence[Decided]) -> str:
    """Say what came of older actions: how many are done, dropped and open still."""
    states = Counter(each.action.state for each in rest)
    said = listed(f"{count} {state}" for state, count in states.items())
    return f"{number(len(rest))} older actions: {said}"


def usually_tried(result: ReviewedWeek) -> str:
    """Say for which kinds there is advice, and that cautions go with it."""
    labels = {each.judged.kind.name: _low(each) for each in result.defects}
    kinds = listed(labels.get(each.kind, each.kind) for each in result.actions)
    said = f"What is usually tried first for {kinds}"
    cautions = len(result.cautions)
    return f"{said}, with {so_many(cautions, 'caution')}" if cautions else said


def to_keep_in_mind(notes: Sequence[str]) -> str:
    """Say how many notes go with the figures."""
    return f"What to keep in mind: {so_many(len(notes), 'note')} on these figures"


def listed(words: Iterable[str]) -> str:
    """Put words side by side as they are read aloud: ``a, b and c``."""
    every = list(words)
    if len(every) < 2:
        return "".join(every)
    return f"{', '.join(every[:-1])} and {every[-1]}"


def _low(each: Defect) -> str:
    return each.judged.kind.label.lower()
