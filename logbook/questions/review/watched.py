"""What came of the actions that concern a week: the cells before each and since."""

from __future__ import annotations

from datetime import date, timedelta

from logbook.book.actions import WEEKS_COMPARED, actions_for
from logbook.calendar_weeks import days_of
from logbook.cells import of_kind, pool
from logbook.errors import VocabularyError
from logbook.questions.review.decided import Watched
from logbook.runs.actions import DecidedAction, KeptAction
from logbook.store import Store, Window
from logbook.vocabulary.defects import DefectKind, kind


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
