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
from logbook.runs.intake import Parsed, ParsedPart, parse_batch
from logbook.service.api.idempotency import KeysInUse, same_request
from logbook.service.api.log_requests import LogRequest, keyed_reply, log_alone, reply_to
from logbook.store import Stored
from logbook.store.replies import Reply
from logbook.store.requests import PutRequest

MOST_ENTRIES = 200
"""Requests of up to so many runs are judged with others."""
BATCH_ENTRIES = 1_000
LINGER_SECONDS = 0.004
"""A batch that is smaller than those before goes when for so long nobody has joined it."""
BATCHES_REMEMBERED = 4
NOT_HELD_UP_SECONDS = 0.05
"""How long the next batch waits for the one before, which may wait for a large sheet itself."""

Outcome = Reply | Exception


@dataclass(slots=True, eq=False)
class _Waiting:
    """A request, and where its reply goes."""

    request: LogRequest
    loop: asyncio.AbstractEventLoop
    reply: asyncio.Future[Reply]
    parsed: Parsed | None = None
    new_names: Mapping[str, Sequence[str]] = field(default_factory=dict)
    answered: bool = False
    """Once only: its key may be held by a retry afterwards."""


@dataclass(frozen=True, slots=True, eq=False)
class _Committed:
    """What became of requests that were handed to the book together."""

    batch: Sequence[_Waiting]
    outcomes: Sequence[tuple[int, Stored | Exception]]


class Batcher:
    """Takes the requests of event loops, and answers them batch by batch from one thread.

    Parameters
    ----------
    keys
        Where their keys are held while they are worked on.
    """

    def __init__(self, keys: KeysInUse) -> None:
        self._keys = keys
        self._lock = Lock()
        self._working = False
        self._inbox: SimpleQueue[_Waiting | _Committed] = SimpleQueue()
        # All below belongs to the thread that works.
        self._new: list[_Waiting] = []
        self._batch: list[_Waiting] = []
        """Under work just now."""
        self._pending: set[_Waiting] = set()
        """In the hands of the book's writer: what becomes of them it alone can tell."""
        self._deferred: list[_Waiting] = []
        """Not to be judged before it is known what becomes of some that are pending."""
        self._sizes: deque[int] = deque([1], maxlen=BATCHES_REMEMBERED)

    async def log(self, request: LogRequest) -> Reply:
        """Log the runs of a request; see :func:`logbook.service.api.log_requests.log_alone`.

        Raises
        ------
        Refusal
            A request with this key is being worked on, or was another one.
        """
        loop = asyncio.get_running_loop()
        waiting = _Waiting(request, loop, loop.create_future())
        self._keys.claim(request.key)
        with self._lock:
            self._inbox.put(waiting)
            idle, self._working = not self._working, True
        if idle:
            loop.run_in_executor(None, self._work)
        return await waiting.reply

    def _work(self) -> None:
        while self._has_work():
            try:
                self._receive()
                if self._new:
                    self._hand_in(self._next_batch())
                self._batch = []
            except BaseException as problem:
                # A panic of the frames' engine is no Exception, and must not end this thread.
                self._give_up(_as_error(problem))

    def _has_work(self) -> bool:
        with self._lock:
            self._working = bool(self._new or self._pending) or not self._inbox.empty()
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

    def _note(self, news: _Waiting | _Committed) -> None:
        if isinstance(news, _Waiting):
            self._new.append(news)
            return
        known = [(news.batch[place], outcome) for place, outcome in news.outcomes]
        self._pending.difference_update(waiting for waiting, _ in known)
        self._judge_deferred_again()
        self._answer([(waiting, _outcome(waiting, stored)) for waiting, stored in known])

    def _judge_deferred_again(self) -> None:
        self._new += self._deferred
        self._deferred = []

    def _next_batch(self) -> list[_Waiting]:
        book, entries = self._new[0].request.book, 0
        batch: list[_Waiting] = []
        left: list[_Waiting] = []
        for waiting in self._new:
            fits = entries < BATCH_ENTRIES and waiting.request.book is book
            (batch if fits else left).append(waiting)
            entries += len(waiting.request.entries) if fits else 0
        self._batch, self._new = batch, left
        self._sizes.append(len(batch))
        return batch

    def _hand_in(self, batch: Sequence[_Waiting]) -> None:
        """Judge a batch, leave it to the book's writer, and wait for that a little."""
        book = batch[0].request.book
        try:
            earlier = book.replies_to([each.request.key for each in batch if each.request.key])
            again = [each for each in batch if each.request.key in earlier]
            new = [each for each in batch if each.request.key not in earlier]
            puts = self._judged_and_filled(new)
        except BaseException:
            # One of them is to blame: each by itself shows which.
            self._answer([(each, _tried(partial(log_alone, each.request))) for each in batch])
            return
        firsts = [(each, earlier[each.request.key or ""]) for each in again]
        self._answer(
            [
                (each, _tried(partial(same_request, first, each.request.body_digest)))
                for each, first in firsts
            ]
        )
        self._deferred += [each for each in new if each not in puts]
        if puts:
            self._put(list(puts), list(puts.values()))

    def _judged_and_filled(self, batch: Sequence[_Waiting]) -> dict[_Waiting, PutRequest]:
        """What the book is asked to store, for each that can be judged by now."""
        puts: dict[_Waiting, PutRequest] = {}
        for each, part in zip(batch, self._judged(batch), strict=True):
            if part.parsed is None:
                continue
            parsed = filled(each.request.book, part.parsed)
            each.parsed, each.new_names = parsed, part.fresh
            reply = keyed_reply(each.request, parsed)
            puts[each] = PutRequest(parsed.good, each.request.source, reply, parsed.as_sent)
        return puts

    def _judged(self, batch: Sequence[_Waiting]) -> list[ParsedPart]:
        if not batch:
            return []
        book = batch[0].request.book
        return parse_batch(
            [each.request.entries for each in batch],
            shop=book.shop,
            known=known_spellings(book),
            now=now_at(book),
            pending=[each.new_names for each in self._pending if each.new_names],
        )

    def _put(self, batch: Sequence[_Waiting], puts: Sequence[PutRequest]) -> None:
        # First: what the writer may have must not be given up by whatever fails here.
        self._pending.update(batch)
        try:
            batch[0].request.book.put_soon(
                puts, lambda outcomes: self._inbox.put(_Committed(batch, outcomes))
            )
        except BaseException as problem:
            # It may have them all the same: the reply says that they can be sent again.
            self._pending.difference_update(batch)
            self._judge_deferred_again()
            self._answer([(each, _as_error(problem)) for each in batch])
            return
        until = time.monotonic() + NOT_HELD_UP_SECONDS
        news: object = None
        while not (isinstance(news, _Committed) and news.batch is batch):
            try:
                news = self._inbox.get(timeout=max(0.0, until - time.monotonic()))
            except Empty:
                return
            self._note(news)

    def _give_up(self, problem: Exception) -> None:
        """Leave nobody waiting for a reply that will not come; the writer's will."""
        left = [*self._batch, *self._deferred, *self._new]
        self._batch, self._deferred, self._new = [], [], []
        self._answer([(each, problem) for each in left if each not in self._pending])

    def _answer(self, outcomes: Sequence[tuple[_Waiting, Outcome]]) -> None:
        by_loop: dict[asyncio.AbstractEventLoop, list[tuple[_Waiting, Outcome]]] = {}
        for waiting, outcome in outcomes:
            if waiting.answered:
                continue
            waiting.answered = True
            self._keys.release(waiting.request.key)
            by_loop.setdefault(waiting.loop, []).append((waiting, outcome))
        for loop, replies in by_loop.items():
            # A loop that has ended has nobody left who waits.
            with contextlib.suppress(RuntimeError):
                loop.call_soon_threadsafe(_reply, replies)


def _reply(outcomes: Sequence[tuple[_Waiting, Outcome]]) -> None:
    for waiting, outcome in outcomes:
        if waiting.reply.done():
            continue
        if isinstance(outcome, Exception):
            waiting.reply.set_exception(outcome)
        else:
            waiting.reply.set_result(outcome)


def _outcome(waiting: _Waiting, stored: Stored | Exception) -> Outcome:
    if isinstance(stored, Exception):
        return stored
    assert waiting.parsed is not None
    return _tried(partial(reply_to, waiting.request, waiting.parsed, stored))


def _tried(replying: Callable[[], Reply]) -> Outcome:
    try:
        return replying()
    except BaseException as problem:
        return _as_error(problem)


def _as_error(problem: BaseException) -> Exception:
    """A problem as one that a reply can be."""
    if isinstance(problem, Exception):
        return problem
    error = RuntimeError(f"{type(problem).__name__}: {problem}")
    error.__cause__ = problem
    return error
