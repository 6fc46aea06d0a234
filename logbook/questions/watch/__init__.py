"""What is different, where, since when, how sure and at what cost, without being asked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from logbook.questions.parameters import Day, Metavar, Parameters, Site
from logbook.questions.question import Question

if TYPE_CHECKING:
    from logbook.questions.watch.result import WatchResult
    from logbook.store import Store


class WatchParameters(Parameters):
    """The week, or the day, up to which the record is looked at."""

    week: Annotated[
        str | None,
        Field(title="Week", description="Such as 2026-W40; else the last week with runs."),
        Metavar("WEEK"),
    ] = None
    day: Annotated[
        Day, Field(title="Day", description="Up to this day, such as 2026-09-30; else the week's.")
    ] = None
    site: Site = None


def ask(store: Store, parameters: WatchParameters) -> WatchResult:
    """Look for departures from what was to be expected, with what was known by then.

    Raises
    ------
    AnalysisError
        The text is no week.
    """
    from logbook.book.weeks import last_week  # late: not needed for --help
    from logbook.calendar_weeks import days_of, iso_week
    from logbook.questions.watch.analyse import analyse
    from logbook.questions.watch.reading import watch_data

    if parameters.day is not None:
        until, week = parameters.day, iso_week(parameters.day)
    else:
        monday, until = days_of(parameters.week or last_week(store))
        week = iso_week(monday)
    data = watch_data(store, until=until, week=week, site=parameters.site)
    return analyse(data, week=week, shop=store.shop)


QUESTION = Question(
    name="watch",
    title="Watch",
    help="Find what is different: where, since when, how sure, and what it costs.",
    asks="What is different from what was to be expected, where and since when?",
    parameters=WatchParameters,
    ask=ask,
    room=__name__,
    waiting="Looking at every machine, lot, fabric and operator…",
    when_empty="Once runs are logged for some weeks, what departs from the usual is named here.",
)
"""Departures of any level of any column, over windows that end now."""
