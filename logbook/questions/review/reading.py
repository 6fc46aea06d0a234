"""What a review reads from the book: the weeks, their runs, held runs, and what was decided."""

from __future__ import annotations

from datetime import date, timedelta

from logbook.book.actions import WEEKS_COMPARED, actions_for
from logbook.book.designs import designs
from logbook.book.weeks import days_after_today
from logbook.calendar_weeks import days_of
from logbook.cells import of_kind, pool
from logbook.errors import VocabularyError
from logbook.questions.review.data import MIX_FACTORS, ReviewData, asked_window
from logbook.questions.review.decided import Watched
from logbook.questions.review.held import HeldRun, held_runs
from logbook.runs.actions import DecidedAction, KeptAction
from logbook.store import Store, Window
from logbook.vocabulary.defects import ANY, DefectKind, kind


def review_data(store: Store, week: str, *, site: str | None = None) -> ReviewData:
    """All that the review of a week needs.

    Raises
    ------
    AnalysisError
        The text is no week.
    """
    since, until = asked_window(week)
    monday, sunday = days_of(week)
    window = Window(since=since, until=until, site=site)
    names = (*(each.name for each in store.shop.kinds), ANY.name)
    return ReviewData(
        weekly=store.cells(names, by=("week",), window=window),
        weekly_totals=store.totals(by=("week",), window=window),
        week_runs=store.runs(Window(since=monday, until=sunday, site=site)),
        mix={name: store.totals(by=("week", name), window=window) for name in MIX_FACTORS},
        watched=watched(store, week, site=site),
        designs=designs(store),
        after_today=days_after_today(store, site=site),
        held=held_everywhere(store, site=site),
    )


def held_everywhere(store: Store, *, site: str | None = None) -> tuple[HeldRun, ...]:
    """Every run held for missing needle parts, in order of time, whatever its week."""
    return held_runs(store.runs(Window(held=True, site=site)))


def watched(store: Store, week: str, *, site: str | None = None) -> tuple[Watched, ...]:
    """The actions that concern the review of a week, each with the cells before it and since."""
    sunday = days_of(week)[1]
    return tuple(
        _watched(store, each, sunday=sunday, site=site) for each in actions_for(store, week)
    )


def _watched(store: Store, kept: KeptAction, *, sunday: date, site: str | None) -> Watched:
    found = _kind(store, kept.action)
    done_on = kept.action.ended_on
    if found is None or kept.action.state != "done" or done_on is None:
        return Watched(kept, found)
    compared = timedelta(weeks=WEEKS_COMPARED)
    one = timedelta(days=1)
    # What was sewn on the day itself may be of either side.
    spans = ((done_on - compared, done_on - one), (done_on + one, min(sunday, done_on + compared)))
    before, after = (
        pool(
            of_kind(
                store.cells(
                    [found.name],
                    by=("week",),
                    window=Window(since=since, until=until, site=site, where=kept.action.where),
                ),
                found.name,
            ),
            by=("week",),
        )
        for since, until in spans
    )
    return Watched(kept, found, before, after)


def _kind(store: Store, action: DecidedAction) -> DefectKind | None:
    if action.kind is None:
        return None
    try:
        return kind(action.kind, own=store.shop.own_kinds)
    except VocabularyError:
        return None  # The shop's settings have it no more; the action still says its name.
