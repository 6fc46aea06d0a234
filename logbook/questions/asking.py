"""What questions that are not declared yet share."""

from __future__ import annotations

from logbook.errors import TooLittleData
from logbook.store import Store


def need_runs(store: Store) -> None:
    """Refuse to ask anything of an empty book."""
    if store.span() is None:
        raise TooLittleData(
            f"The book at {store.place} has no runs yet.",
            "log one with: logbook add KEY=VALUE…, or bring a spreadsheet in with: logbook import",
            needed=1,
            got=0,
            unit="runs",
        )
