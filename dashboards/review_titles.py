"""What is folded on the weekly review says in its title what it holds: the finding, in words."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence

from logbook.analysis.control import ControlResult
from logbook.analysis.pareto import ParetoResult
from logbook.analysis.review import Decided, Defect, ReviewResult
from logbook.analysis.review.mix import Change
from logbook.analysis.review.runs import RunToLookAt
from logbook.short_figures import rate_short
from logbook.vocabulary.levels import factor_label
from logbook.wording import count_words, number, percent

NAMED = 3
"""So many are named in a title; the rest are counted."""
SIDES = (("above", "worse"), ("below", "better"))


def in_figures(result: ReviewResult) -> str:
    """Say how much the week's figures rest on."""
    runs = _counted(result.runs, "run")
    if result.any_defect is None or not result.any_defect.judged.exposure > 0:
        return f"The week in figures: {runs}, {number(result.pieces_inspected)} pieces inspected"
    judged = result.any_defect.judged
    counted = count_words(judged.kind.measure, judged.count, judged.exposure)
    return f"The week in figures: {runs}, {counted} with a defect"


def kinds_left(rest: Sequence[Defect]) -> str:
    """Say what the kinds that a table leaves out have come to."""
    verdicts = Counter(each.verdict_words for each in rest)
    head = f"{number(len(rest))} more kinds of defect"
    if len(verdicts) == 1:
        return f"{head}, all {next(iter(verdicts))}"
    return f"{head}: " + listed(f"{count} {words}" for words, count in verdicts.most_common())


def standing_out_left(rest: Sequence[Defect]) -> str:
    """Name the further kinds that are more than luck, or worth watching."""
    named = [f"{_low(each)} ({each.verdict_words})" for each in rest]
    return f"{number(len(rest))} more: {listed(named)}"


def changes(changed: Sequence[Change]) -> str:
    """Say what changed, factor by factor, without its figures."""
    factors: dict[str, list[str]] = {}
    for each in changed:
        factors.setdefault(each.factor, []).append(f"{each.level} {each.what}")
    return ". ".join(
        f"{factor_label(factor)}: {', '.join(levels)}" for factor, levels in factors.items()
    )


def dearest(result: ParetoResult) -> str:
    """Say the shares of the kinds that come first."""
    by_cost = result.costed.ordered_by == "cost"
    counted = [each for each in result.costed.kinds if each.count > 0]
    shares = [(each, each.share_of_cost if by_cost else each.share_of_count) for each in counted]
    named = [
        f"{each.kind.label.lower()} {percent(share, 0)}"
        for each, share in shares
        if math.isfinite(share)
    ][:NAMED]
    what = "costs" if by_cost else "counts"
    said = f"The {what} as a chart"
    return f"{said}: {listed(named)}" if named else said


def over_the_weeks(result: ControlResult) -> str:
    """Say whether weeks stand out, and what the latest of them was like."""
    head = f"{result.kind.label}: "
    if result.points.height < 2:
        return f"{head}nothing to compare it with yet"
    if not result.signals:
        return f"{head}no week stands out"
    latest = result.signals[-1]
    side = dict(SIDES)[latest.direction]
    weeks = len({signal.label for signal in result.signals})
    if weeks == 1:
        return f"{head}week {latest.label} stands out, {side} than usual"
    return f"{head}{weeks} weeks stand out; the latest, {latest.label}, {side} than usual"


def further_signals(result: ControlResult) -> str:
    """Count the weeks that stand out, those worse than usual first."""
    said = []
    for direction, side in SIDES:
        weeks = {signal.label for signal in result.signals if signal.direction == direction}
        if weeks:
            said.append(f"{_counted(len(weeks), 'week')} {side} than usual")
    return f"Everything that stands out: {listed(said)}"


def runs_left(rest: Sequence[RunToLookAt]) -> str:
    """Say for which kinds the further runs are to be looked at."""
    kinds = Counter(each.excesses[0].kind.label.lower() for each in rest if each.excesses)
    return f"{_counted(len(rest), 'more run')}, for {listed(kinds)}"


def came_in(apart: Sequence[Defect]) -> str:
    """Say each fault that came in with the goods with its rate and verdict."""
    return ". ".join(
        f"{each.judged.kind.label}: {rate_short(each.judged.kind.measure, each.judged.rate)}, "
        f"{each.verdict_words}"
        for each in apart
    )


def actions_before(rest: Sequence[Decided]) -> str:
    """Say what came of older actions: how many are done, dropped and open still."""
    states = Counter(each.action.state for each in rest)
    said = listed(f"{count} {state}" for state, count in states.items())
    return f"{number(len(rest))} older actions: {said}"


def usually_tried(result: ReviewResult) -> str:
    """Say for which kinds there is advice, and that cautions go with it."""
    labels = {each.judged.kind.name: _low(each) for each in result.defects}
    kinds = listed(labels.get(each.kind, each.kind) for each in result.actions)
    said = f"What is usually tried first for {kinds}"
    cautions = len(result.cautions)
    return f"{said}, with {_counted(cautions, 'caution')}" if cautions else said


def to_keep_in_mind(notes: Sequence[str]) -> str:
    """Say how many notes go with the figures."""
    return f"What to keep in mind: {_counted(len(notes), 'note')} on these figures"


def listed(words: Iterable[str]) -> str:
    """Put words side by side as they are read aloud: ``a, b and c``."""
    every = list(words)
    if len(every) < 2:
        return "".join(every)
    return f"{', '.join(every[:-1])} and {every[-1]}"


def _low(each: Defect) -> str:
    return each.judged.kind.label.lower()


def _counted(count: int, what: str) -> str:
    return f"{number(count)} {what}{'' if count == 1 else 's'}"
