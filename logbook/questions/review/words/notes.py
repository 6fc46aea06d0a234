"""What to keep in mind of a review's figures."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date

from logbook.questions.costs.result import CostsResult
from logbook.questions.review.judging import FALSE_SHARE, FEWEST_WEEKS, Judged
from logbook.questions.review.losses import Losses
from logbook.questions.review.reviewed import ReviewedWeek
from logbook.wording import money, number, percent

DAYS_NAMED = 3


def notes(result: ReviewedWeek) -> tuple[str, ...]:
    """Say what the figures rest on."""
    judged = [each.judged for each in result.defects]
    tested = [each for each in judged if not math.isnan(each.p_value)]
    said = [
        _after_today(result.after_today),
        _assumed(
            result.runs_inspected_assumed,
            "pieces inspected were not recorded; the pieces sewn are taken as inspected",
        ),
        _assumed(
            result.runs_any_assumed,
            "pieces with any defect were not recorded; the most "
            "frequent kind stands for them, which is the least there can be",
        ),
        _looks(len(tested)),
        _young(judged),
        _money_note(result.costs, result.losses),
        _not_known(result.costs),
        _unassigned(result.losses, result.currency),
        "Runs to look at stand out against the shop's usual rate whatever the setup: a hard design "
        "or cloth may explain one."
        if result.look_at
        else None,
    ]
    return tuple(note for note in said if note)


def _after_today(days: Mapping[date, int]) -> str | None:
    """Runs whose dates are to be looked at: they are in no review of a week before."""
    runs = sum(days.values())
    if runs == 0:
        return None
    which = "1 run is" if runs == 1 else f"{number(runs)} runs are"
    named = [f"{day.day} {day:%b %Y}" for day in days]
    more = len(named) - DAYS_NAMED
    tail = f" and {number(more)} more day{'' if more == 1 else 's'}" if more > 0 else ""
    it = "it" if runs == 1 else "them"
    return (
        f"{which} dated after today: {', '.join(named[:DAYS_NAMED])}{tail}; look at {it} on Runs."
    )


def _assumed(runs: int, what: str) -> str | None:
    if runs == 0:
        return None
    return f"In {number(runs)} run{'' if runs == 1 else 's'} {what}."


def _looks(tested: int) -> str | None:
    if tested < 2:
        return None
    return (
        f"{number(tested)} kinds are looked at side by side; “more than luck” is said so sparingly "
        f"that at most {percent(FALSE_SHARE, 0)} of such calls are false in the long run."
    )


def _young(judged: Sequence[Judged]) -> str | None:
    if not judged or any(each.weeks_before >= FEWEST_WEEKS for each in judged):
        return None
    return (
        f"There are fewer than {FEWEST_WEEKS} weeks with runs to compare with, so more or less "
        "than usual cannot be said yet."
    )


def _not_known(costs: CostsResult) -> str | None:
    """The reason, where the order is by cost and some kinds have none."""
    unknown = [each.kind.label for each in costs.costed.kinds if math.isnan(each.cost)]
    if not costs.by_cost or not unknown:
        return None
    return (
        f"Not known what it cost: {', '.join(unknown)}. No run that counted it recorded "
        "pieces_spoiled, pieces_reworked or rework_minutes."
    )


def _money_note(costs: CostsResult, losses: Losses) -> str | None:
    if not costs.by_cost and costs.costed.total_count > 0:
        return (
            "Nobody recorded what was spoiled or reworked, so the order is by count: fill in "
            "pieces_spoiled, pieces_reworked or rework_minutes."
        )
    if costs.costs_assumed and losses.cost:
        return "Costs are usual ones of the trade, not this shop's: put its own into shop.toml."
    return None


def _unassigned(losses: Losses, currency: str) -> str | None:
    """Say that some of the loss belongs to no kind, where it is worth a word."""
    if losses.unassigned_cost < 0.01:
        return None
    return (
        f"{money(losses.unassigned_cost, currency)} of spoilage and rework lies in runs that name "
        "no defect, and is in no kind's cost."
    )
