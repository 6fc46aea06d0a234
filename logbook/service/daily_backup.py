"""The day's backup, made while the pages are served."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from logbook.book.runs import now_at
from logbook.errors import LogbookError
from logbook.safekeeping.daily_backups import backup_if_due
from logbook.store import Store

SECONDS_BETWEEN = 1800.0
"""How often it is looked whether the day's backup is there."""


@contextmanager
def backed_up_daily(
    store: Store, *, say: Callable[[str], object], seconds_between: float = SECONDS_BETWEEN
) -> Iterator[None]:
    """Make the day's backup when the service starts and whenever a day has begun.

    Parameters
    ----------
    store
        The open book; nothing is made where its settings name no folder for backups.
    say
        Told in words of a backup that could not be made; the next look tries again.
    seconds_between
        Between two looks.
    """
    stop = threading.Event()

    def keep() -> None:
        while True:
            try:
                backup_if_due(store, now_at(store))
            except (LogbookError, OSError) as problem:
                say(f"The day's backup could not be made: {problem}")
            if stop.wait(seconds_between):
                return

    # A daemon, so that a backup under way never holds up the end of the service.
    keeper = threading.Thread(target=keep, name="daily backup", daemon=True)
    keeper.start()
    try:
        yield
    finally:
        stop.set()
        keeper.join(timeout=5.0)
