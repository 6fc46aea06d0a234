"""Requests to log that wait at the same moment, judged in one piece and committed together.

Judging a few runs takes nearly as long as judging one, and so does a commit: fifty clients are
served as fast as one. Each request still succeeds or fails for itself.
"""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from queue import Empty, SimpleQueue
from threading import Lock

from logbook.book.designs import filled
from logbook.book.runs import known_spellings, now_at
from logbook.runs.intake import Taken, TakenPart, take_together
from logbook.service.api.idempotency import Running
from logbook.service.api.taking import (
    Brought,
    Told,
    reply_once,
    take_runs,
    told_before,
    told_now,
)
from logbook.store import Stored
from logbook.store.requests import PutRequest

MOST_ENTRIES = 200
"""Requests of up to so many runs are judged with others."""
GROUP_ENTRIES = 1_000
LINGER_SECONDS = 0.004
"""A group that is smaller than those before goes when for so long nobody has joined it."""
GROUPS_REMEMBERED = 4
NOT_HELD_UP_SECONDS = 0.05
"""How long the next group waits for the one before, which may wait for a large sheet itself."""


Outcome = Told | Exception


@dataclass(slots=True, eq=False)
class _Waiting:
    """A request, and where its answer goes."""

    asked: Brought
    loop: asyncio.AbstractEventLoop
    answer: asyncio.Future[Told]
    taken: Taken | None = None
    fresh: Mapping[str, Sequence[str]] = field(default_factory=dict)
    answered: bool = False
    """KeyedReply only: its key may be held by a retry afterwards."""


@dataclass(frozen=True, slots=True, eq=False)
class _Settled:
    """What became of requests that were handed to the book together."""

    group: Sequence[_Waiting]
    outcomes: Sequence[tuple[int, Stored | Exception]]


class Gathering:
    """Takes the requests of event loops, and answers them group by group from one thread.

    Parameters
    ----------
    running
        Where their keys are held while they are worked on.
    """

    def __init__(self, running: Running) -> None:
        self._running = running
        self._lock = Lock()
        self._working = False
        self._inbox: SimpleQueue[_Waiting | _Settled] = SimpleQueue()
        # All below belongs to the thread that works.
        self._new: list[_Waiting] = []
        self._group: list[_Waiting] = []
        """Under work just now."""
        self._unsettled: set[_Waiting] = set()
        """In the hands of the book's writer: what becomes of them it alone can tell."""
        self._held: list[_Waiting] = []
        """Not to be judged before it is known what becomes of some that are unsettled."""
        self._sizes: deque[int] = deque([1], maxlen=GROUPS_REMEMBERED)

    async def take(self, asked: Brought) -> Told:
        """Log the runs of a request; see :func:`logbook.service.api.taking.take_runs`.

        Raises
        ------
        Refusal
            A request with this key is being worked on, or was another one.
        """
        loop = asyncio.get_running_loop()
        waiting = _Waiting(asked, loop, loop.create_future())
        self._running.claim(asked.key)
        with self._lock:
            self._inbox.put(waiting)
            idle, self._working = not self._working, True
        if idle:
            loop.run_in_executor(None, self._work)
        return await waiting.answer

    def _work(self) -> None:
        while self._has_work():
            try:
                self._receive()
                if self._new:
                    self._hand_in(self._next_group())
                self._group = []
            except BaseException as problem:
                # A panic of the frames' engine is no Exception, and must not end this thread.
                self._give_up(_as_error(problem))

    def _has_work(self) -> bool:
        with self._lock:
            self._working = bool(self._new or self._unsettled) or not self._inbox.empty()
            return self._working

    def _receive(self) -> None:
        """Wait for news, then a moment longer for as many as there were before."""
        if not self._new:
            self._note(self._inbox.get())
        while True:
            linger = len(self._new) < max(self._sizes)
            try:
                self._note(self._inbox.get(linger, LINGER_SECONDS))
            except Empty:
                return

    def _note(self, news: _Waiting | _Settled) -> None:
        if isinstance(news, _Waiting):
            self._new.append(news)
            return
        settled = [(news.group[place], outcome) for place, outcome in news.outcomes]
        self._unsettled.difference_update(waiting for waiting, _ in settled)
        self._judge_held_again()
        self._answer([(waiting, _told(waiting, outcome)) for waiting, outcome in settled])

    def _judge_held_again(self) -> None:
        self._new += self._held
        self._held = []

    def _next_group(self) -> list[_Waiting]:
        book, entries = self._new[0].asked.book, 0
        group: list[_Waiting] = []
        left: list[_Waiting] = []
        for waiting in self._new:
            fits = entries < GROUP_ENTRIES and waiting.asked.book is book
            (group if fits else left).append(waiting)
            entries += len(waiting.asked.entries) if fits else 0
        self._group, self._new = group, left
        self._sizes.append(len(group))
        return group

    def _hand_in(self, group: Sequence[_Waiting]) -> None:
        """Judge a group, leave it to the book's writer, and wait for that a little."""
        book = group[0].asked.book
        try:
            earlier = book.replies_to([each.asked.key for each in group if each.asked.key])
            again = [each for each in group if each.asked.key in earlier]
            new = [each for each in group if each.asked.key not in earlier]
            puts = self._judged_and_filled(new)
        except BaseException:
            # One of them is to blame: each by itself shows which.
            self._answer([(each, _tried(partial(take_runs, each.asked))) for each in group])
            return
        self._answer(
            [
                (each, _tried(partial(told_before, earlier[each.asked.key or ""], each.asked)))
                for each in again
            ]
        )
        self._held += [each for each in new if each not in puts]
        if puts:
            self._put(list(puts), list(puts.values()))

    def _judged_and_filled(self, group: Sequence[_Waiting]) -> dict[_Waiting, PutRequest]:
        """What the book is asked to store, for each that can be judged by now."""
        puts: dict[_Waiting, PutRequest] = {}
        for each, part in zip(group, self._judged(group), strict=True):
            if part.taken is None:
                continue
            each.taken, each.fresh = filled(each.asked.book, part.taken), part.fresh
            once = reply_once(each.asked, each.taken)
            puts[each] = PutRequest(each.taken.good, each.asked.source, once, each.taken.as_sent)
        return puts

    def _judged(self, group: Sequence[_Waiting]) -> list[TakenPart]:
        if not group:
            return []
        book = group[0].asked.book
        return take_together(
            [each.asked.entries for each in group],
            shop=book.shop,
            known=known_spellings(book),
            now=now_at(book),
            unsettled=[each.fresh for each in self._unsettled if each.fresh],
        )

    def _put(self, ready: Sequence[_Waiting], puts: Sequence[PutRequest]) -> None:
        # First: what the writer may have must not be given up by whatever fails here.
        self._unsettled.update(ready)
        try:
            ready[0].asked.book.put_soon(puts, lambda told: self._inbox.put(_Settled(ready, told)))
        except BaseException as problem:
            # It may have them all the same: the answer says that they can be sent again.
            self._unsettled.difference_update(ready)
            self._judge_held_again()
            self._answer([(each, _as_error(problem)) for each in ready])
            return
        until = time.monotonic() + NOT_HELD_UP_SECONDS
        news: object = None
        while not (isinstance(news, _Settled) and news.group is ready):
            try:
                news = self._inbox.get(timeout=max(0.0, until - time.monotonic()))
            except Empty:
                return
            self._note(news)

    def _give_up(self, problem: Exception) -> None:
        """Leave nobody waiting for an answer that will not come; the writer's will."""
        left = [*self._group, *self._held, *self._new]
        self._group, self._held, self._new = [], [], []
        self._answer([(each, problem) for each in left if each not in self._unsettled])

    def _answer(self, told: Sequence[tuple[_Waiting, Outcome]]) -> None:
        by_loop: dict[asyncio.AbstractEventLoop, list[tuple[_Waiting, Outcome]]] = {}
        for waiting, outcome in told:
            if waiting.answered:
                continue
            waiting.answered = True
            self._running.let_go(waiting.asked.key)
            by_loop.setdefault(waiting.loop, []).append((waiting, outcome))
        for loop, answers in by_loop.items():
            # A loop that has ended has nobody left who waits.
            with contextlib.suppress(RuntimeError):
                loop.call_soon_threadsafe(_tell, answers)


def _tell(answers: Sequence[tuple[_Waiting, Outcome]]) -> None:
    for waiting, outcome in answers:
        if waiting.answer.done():
            continue
        if isinstance(outcome, Exception):
            waiting.answer.set_exception(outcome)
        else:
            waiting.answer.set_result(outcome)


def _told(waiting: _Waiting, outcome: Stored | Exception) -> Outcome:
    if isinstance(outcome, Exception):
        return outcome
    assert waiting.taken is not None
    return _tried(partial(told_now, waiting.taken, outcome))


def _tried(answering: Callable[[], Told]) -> Outcome:
    try:
        return answering()
    except BaseException as problem:
        return _as_error(problem)


def _as_error(problem: BaseException) -> Exception:
    """A problem as one that an answer can be."""
    if isinstance(problem, Exception):
        return problem
    error = RuntimeError(f"{type(problem).__name__}: {problem}")
    error.__cause__ = problem
    return error
