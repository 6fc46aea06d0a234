"""Guessing a passcode is made slow: who was wrong waits, longer every time."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable

FREE = 3
"""Wrong passcodes of one address that cost no wait: thumbs slip."""
LONGEST_SECONDS = 15 * 60.0
FREE_IN_ALL = 20
LONGEST_IN_ALL_SECONDS = 10.0
"""Short, and not for addresses that were right before: guessing from many addresses must not lock
the shop out.
"""
FORGOTTEN_SECONDS = 3600.0
MOST_ADDRESSES = 10_000


class Attempts:
    """Wrong passcodes, by address and in all.

    Parameters
    ----------
    clock
        Seconds that only go up.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._of: dict[str, tuple[int, float]] = {}
        self._in_all = (0, -math.inf)
        self._known: set[str] = set()

    def begin(self, address: str) -> int:
        """Count an attempt as wrong until it is known to be right.

        Counted beforehand, so that many attempts at once do not all slip through.

        Returns
        -------
        int
            0 where it may be tried; otherwise seconds to wait, and it is not counted.
        """
        with self._lock:
            now = self._clock()
            wait = _left(self._of.get(address), now, FREE, LONGEST_SECONDS)
            if address not in self._known:
                wait = max(wait, _left(self._in_all, now, FREE_IN_ALL, LONGEST_IN_ALL_SECONDS))
            if wait > 0:
                return math.ceil(wait)
            self._forget(now)
            self._of[address] = (_count(self._of.get(address), now) + 1, now)
            self._in_all = (_count(self._in_all, now) + 1, now)
            return 0

    def right(self, address: str) -> None:
        """Say that the attempt just begun was right; earlier wrong ones still count.

        Otherwise who knows the operators' passcode could wipe out wrong guesses at the reviewers'.
        """
        with self._lock:
            count, at = self._of.get(address, (0, -math.inf))
            self._of[address] = (max(0, count - 1), at)
            self._in_all = (max(0, self._in_all[0] - 1), self._in_all[1])
            if len(self._known) < MOST_ADDRESSES:
                self._known.add(address)

    def _forget(self, now: float) -> None:
        if len(self._of) < MOST_ADDRESSES:
            return
        self._of = {each: wrong for each, wrong in self._of.items() if _count(wrong, now)}
        while len(self._of) >= MOST_ADDRESSES:
            del self._of[min(self._of, key=lambda each: self._of[each])]


def _count(wrong: tuple[int, float] | None, now: float) -> int:
    return 0 if wrong is None or now - wrong[1] > FORGOTTEN_SECONDS else wrong[0]


def _left(wrong: tuple[int, float] | None, now: float, free: int, longest: float) -> float:
    """How much of the wait is left: 1 s after the last free attempt, then twice as long."""
    count = _count(wrong, now)
    if wrong is None or count < free:
        return 0.0
    return wrong[1] + min(2.0 ** min(count - free, 30), longest) - now
