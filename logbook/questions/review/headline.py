"""The week in a few sentences, and what to keep in mind of its figures."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from logbook.costing import Costed, KindCost
from logbook.questions.review.judging import FALSE_SHARE, FEWEST_WEEKS, Judged
from logbook.questions.review.losses import Losses, losses_note
from logbook.questions.review.sentences import kind_sentence
from logbook.shop import Shop
from logbook.wording import money, number, percent

DAYS_NAMED = 3
MOST_TOLD = 3
"""So many kinds are told in full in the headline; the rest are named."""


def dates_words(week: str, monday: date, sunday: date) -> str:
    """Say the week and its days: ``Week 2026-W41 (5 October to 11 October 2026)``."""
    return f"Week {week} ({monday.day} {monday:%B} to {sunday.day} {sunday:%B %Y})"


def headline(
    when: str,
    runs: int,
    held: int,
    any_defect: Judged | None,
    judged: Sequence[Judged],
    costed: Costed,
    currency: str,
) -> str:
    """Say the week aloud: how much, more than usual or not, what cost most.

    Parameters
    ----------
    when
        From :func:`dates_words`.
    runs
        Runs of the week.
    held
        Of which are held for parts of a broken needle.
    any_defect
        Pieces with any defect; None where never recorded.
    judged
        The kinds that the setup is charged with.
    costed, currency
        Their costs.
    """
    if runs == 0:
        return f"{when}: no runs are recorded, so there is nothing to review."
    said = [f"{when}: {number(runs)} run{'' if runs == 1 else 's'}."]
    if held:
        said.append(
            f"{number(held)} {'is' if held == 1 else 'are'} held until every part of a broken "
            "needle is found."
        )
    if any_defect is not None:
        said.append(kind_sentence(any_defect, 1))
    more = [each for each in judged if each.verdict == "more_than_usual"]
    less = [each for each in judged if each.verdict == "less_than_usual"]
    said += [kind_sentence(each, len(judged)) for each in more[:MOST_TOLD]]
    if len(more) > MOST_TOLD:
        said.append(f"More than usual too: {_labels(more[MOST_TOLD:])}.")
    if less:
        said.append(f"Less than usual: {_labels(less)}.")
    if watched := [each for each in judged if each.watch]:
        said.append(f"To be watched: {_labels(watched)}.")
    if not more and any(each.verdict == "as_usual" for each in judged):
        said.append("No kind of defect came up more than usual.")
    if dearest := _dearest(costed, currency):
        said.append(dearest)
    return " ".join(said)


def notes(
    *,
    totals: Mapping[str, Any],
    judged: Sequence[Judged],
    costed: Costed,
    losses: Losses,
    looked_at: bool,
    after_today: Mapping[date, int],
    shop: Shop,
) -> tuple[str, ...]:
    """Say what the figures rest on.

    Parameters
    ----------
    totals
        The week's row of the totals; empty for a week without runs.
    judged, costed, losses
        The kinds and the money.
    looked_at
        Whether runs to look at are named.
    after_today
        How many runs of the book are dated on each day after today.
    shop
        The shop's settings.
    """
    tested = [each for each in judged if not math.isnan(each.p_value)]
    said = [
        _after_today(after_today),
        _assumed(
            totals,
            "runs_inspected_assumed",
            "pieces inspected were not recorded; the pieces sewn are taken as inspected",
        ),
        _assumed(
            totals,
            "runs_any_assumed",
            "pieces with any defect were not recorded; the most "
            "frequent kind stands for them, which is the least there can be",
        ),
        _looks(len(tested)),
        _young(judged),
        _money_note(costed, losses, shop),
        _not_known(costed),
        losses_note(losses, shop.currency),
        "Runs to look at stand out against the shop's usual rate whatever the setup: a hard design "
        "or cloth may explain one."
        if looked_at
        else None,
    ]
    return tuple(note for note in said if note)


def _labels(judged: Sequence[Judged]) -> str:
    names = [each.kind.label for each in judged]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _dearest(costed: Costed, currency: str) -> str | None:
    first: KindCost | None = costed.kinds[0] if costed.kinds else None
    if first is None or first.count == 0:
        return None
    thing = "pieces" if first.kind.measure == "pieces" else "events"
    if costed.ordered_by == "count" or not first.cost > 0:
        return f"{first.kind.label} came up most often: {number(first.count)} {thing}."
    if all(each.cost == 0 for each in costed.kinds[1:] if each.count > 0):
        cost, name = money(first.cost, currency), first.kind.label.lower()
        return f"Only {name} cost anything: {cost} ({number(first.count)} {thing})."
    return (
        f"{first.kind.label} cost most: {money(first.cost, currency)}, "
        f"{percent(first.share_of_cost, 0)} of the cost of defects ({number(first.count)} {thing})."
    )


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


def _assumed(totals: Mapping[str, Any], name: str, what: str) -> str | None:
    runs = int(totals.get(name) or 0)
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


def _not_known(costed: Costed) -> str | None:
    """The reason, where the order is by cost and some kinds have none."""
    unknown = [each.kind.label for each in costed.kinds if math.isnan(each.cost)]
    if costed.ordered_by == "count" or not unknown:
        return None
    return (
        f"Not known what it cost: {', '.join(unknown)}. No run that counted it recorded "
        "pieces_spoiled, pieces_reworked or rework_minutes."
    )


def _money_note(costed: Costed, losses: Losses, shop: Shop) -> str | None:
    if costed.ordered_by == "count" and costed.total_count > 0:
        return (
            "Nobody recorded what was spoiled or reworked, so the order is by count: fill in "
            "pieces_spoiled, pieces_reworked or rework_minutes."
        )
    if shop.costs_assumed and losses.cost:
        return "Costs are usual ones of the trade, not this shop's: put its own into shop.toml."
    return None
