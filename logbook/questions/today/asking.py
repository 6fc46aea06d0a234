"""What is read from the book to say how things stand."""

from __future__ import annotations

from datetime import date

from logbook.book.actions import actions
from logbook.book.runs import now_at
from logbook.book.weeks import last_week
from logbook.calendar_weeks import days_of, weeks_before
from logbook.questions.review.reading import held_everywhere
from logbook.questions.today.data import WEEKS, TodayData
from logbook.store import Store, Window
from logbook.vocabulary.defects import ANY


def today_data(store: Store, *, site: str | None = None) -> TodayData:
    """Read how things stand.

    Parameters
    ----------
    store
        The open book.
    site
        Runs of this site only; None for all.
    """
    week = None if store.span() is None else last_week(store)
    monday, sunday = (date.min, date.min) if week is None else days_of(week)
    since = days_of(weeks_before(week, WEEKS)[0])[0] if week else date.min
    window = Window(since=since, until=sunday, site=site)
    names = (ANY.name, *(each.name for each in store.shop.kinds))
    return TodayData(
        today=now_at(store).date(),
        week=week,
        held=held_everywhere(store, site=site),
        open_actions=tuple(each for each in actions(store) if each.action.state == "open"),
        cells=store.cells(names, by=("week",), window=window),
        totals=store.totals(by=("week",), window=window),
        latest=store.runs(Window(since=monday, until=sunday, site=site)),
    )
