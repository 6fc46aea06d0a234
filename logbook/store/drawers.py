"""Drawers of cards as they stand, remembered between questions.

Every run that is logged asks for the shop's designs; a drawer changes some times a week.
"""

from __future__ import annotations

import threading
from collections.abc import Callable

from logbook.store.interface import Card


class Drawers:
    """The standing cards of each drawer; right as long as every change is told here."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self.changes = 0
        """Grows with every change of a card."""
        self._cards: dict[str, tuple[Card, ...]] = {}

    def of(self, drawer: str, read: Callable[[], tuple[Card, ...]]) -> tuple[Card, ...]:
        """The cards of a drawer; ``read`` looks them up where they are not known."""
        with self._lock:
            known = self._cards.get(drawer)
            changes = self.changes
        if known is not None:
            return known
        found = read()
        with self._lock:
            # What was read while a change was under way may be of before it.
            if changes == self.changes:
                self._cards[drawer] = found
        return found

    def changed(self, drawer: str) -> None:
        """Look it up anew: a card of it was kept or withdrawn, and that is committed."""
        with self._lock:
            self.changes += 1
            self._cards.pop(drawer, None)
