"""When the shop works: its days, its hours and its holidays."""

import datetime as dt
from collections.abc import Iterator

__all__ = ["hours_open", "iso_week", "working_days"]

CLOSED: frozenset[dt.date] = frozenset(
    {
        *(dt.date(2025, 12, day) for day in range(24, 32)),
        dt.date(2026, 1, 1),
        dt.date(2026, 4, 6),
        dt.date(2026, 5, 1),
        dt.date(2026, 5, 14),
        dt.date(2026, 5, 25),
        dt.date(2026, 7, 14),
    }
)
SUMMER = (dt.date(2026, 8, 3), dt.date(2026, 8, 21))
BUSY_SATURDAYS: frozenset[dt.date] = frozenset(
    {
        dt.date(2025, 11, 29),
        dt.date(2025, 12, 6),
        dt.date(2025, 12, 13),
        dt.date(2026, 6, 13),
        dt.date(2026, 9, 12),
        dt.date(2026, 9, 19),
        dt.date(2026, 10, 17),
        dt.date(2026, 11, 7),
    }
)


def working_days(first: dt.date, last: dt.date) -> Iterator[dt.date]:
    """Yield the days from first to last, both counted, on which anybody works."""
    day = first
    while day <= last:
        if day in BUSY_SATURDAYS or (day.weekday() < 5 and day not in CLOSED):
            yield day
        day += dt.timedelta(days=1)


def hours_open(day: dt.date, machine_index: int) -> tuple[float, float]:
    """Return the hours at which a machine starts and stops on a working day, in hours of the day.

    Equal hours mean that the machine stands still: the eight-head and one single in the summer
    weeks, all but two machines on the day after New Year.
    """
    if day == dt.date(2026, 1, 2):
        return (8.0, 13.0) if machine_index in (1, 3) else (8.0, 8.0)
    if SUMMER[0] <= day <= SUMMER[1]:
        return (7.5, 7.5) if machine_index in (0, 4) else (7.5, 14.5)
    if day.weekday() == 5:
        return 8.0, 12.5
    return (7.0, 17.0) if machine_index == 0 else (7.5, 16.5)


def iso_week(day: dt.date) -> str:
    """Return a day's ISO week as written in reviews, such as ``2026-W46``."""
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"
