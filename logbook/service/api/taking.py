"""Runs of one request into the book: what becomes of each, and the answer to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from logbook.book.designs import filled
from logbook.book.runs import known_spellings, now_at
from logbook.runs.columns import columns_with
from logbook.runs.intake import Reject, Taken, take_many
from logbook.service.api.bodies import Sent
from logbook.service.api.idempotency import same_request
from logbook.service.api.problems import CONFLICT, NOT_TAKEN, TOO_LARGE, Refusal, as_text, details
from logbook.service.api.where import RUNS
from logbook.store import Stored
from logbook.store.duckdb_store import DuckStore
from logbook.store.replies import KeyedReply, Reply

MOST_RUNS = 10_000
TAKEN = (
    "the book already has a run with this reference and other content; give this one a reference "
    "of its own, or correct the earlier one with PATCH /api/runs/{run_ref}"
)
SKIPPED = (
    "skipped are runs that the book has to the letter already; where a run without run_ref is "
    "meant as one more, give it a reference of its own"
)


@dataclass(frozen=True, slots=True)
class Told:
    """The answer to a request: its status, and what it says."""

    status: int
    content: str


@dataclass(frozen=True, slots=True, eq=False)
class Brought:
    """The runs of one request."""

    book: DuckStore
    entries: Sequence[Any]
    mark: str
    """Of the whole body; see :class:`logbook.service.api.bodies.Sent`."""
    key: str | None
    """The sender's; the answer is then kept in the transaction of the runs."""
    source: str
    """Kept with each run."""


def brought(book: DuckStore, sent: Sent, *, key: str | None, source: str) -> Brought:
    """The runs of a request: an object of run-sheet names and values, or a list of such.

    Raises
    ------
    Refusal
        More runs, or more names in one, than a request may bring.
    """
    entries = sent.content if isinstance(sent.content, list) else [sent.content]
    if len(entries) > MOST_RUNS:
        raise Refusal(
            TOO_LARGE,
            f"The request holds {len(entries):,} runs; {MOST_RUNS:,} are the most at a time.",
            "send the runs in several requests, or a file with: logbook import",
        )
    _refuse_floods(entries, columns=len(columns_with(book.shop.own_kinds)))
    return Brought(book, entries, sent.mark, key, source)


def take_runs(asked: Brought) -> Told:
    """Log the runs of one request: those that can be, with a reason for each other.

    Raises
    ------
    Refusal
        The key was used for another request.
    """
    book = asked.book
    earlier = None if asked.key is None else book.reply_to(asked.key)
    if earlier is not None:
        return told_before(earlier, asked)
    read = take_many(asked.entries, shop=book.shop, known=known_spellings(book), now=now_at(book))
    taken = filled(book, read)
    reply = reply_once(asked, taken)
    stored = book.put(taken.good, source=asked.source, as_sent=taken.as_sent, reply=reply)
    return told_now(taken, stored)


def told_before(earlier: Reply, asked: Brought) -> Told:
    """The first answer again; refused where the key was used for another request."""
    same_request(earlier, asked.mark)
    return Told(earlier.status, earlier.content)


def reply_once(asked: Brought, taken: Taken) -> KeyedReply | None:
    """What keeps the answer under the sender's key."""
    if asked.key is None:
        return None
    return KeyedReply(asked.key, lambda stored: _kept(told_now(taken, stored), asked.mark))


def _refuse_floods(entries: Sequence[Any], *, columns: int) -> None:
    for index, entry in enumerate(entries):
        # Guessing what a strange name was meant to be takes time: not for a flood of them.
        if isinstance(entry, Mapping) and len(entry) > 2 * columns:
            says = f"{len(entry):,} names in one run; a run sheet has {columns} columns"
            raise Refusal(
                TOO_LARGE,
                f"No run was logged: {says}.",
                "send each run as an object of its own",
                reasons=[_reason(Reject(index, "", says))],
            )


def _kept(told: Told, mark: str) -> Reply:
    return Reply(mark, told.status, told.content)


def told_now(taken: Taken, stored: Stored) -> Told:
    """The answer to a request whose runs are in the book."""
    places = taken.good_positions.to_list()
    clashes = {places[position] for position in stored.conflicts}
    conflicts = [Reject(place, "run_ref", TAKEN) for place in sorted(clashes)]
    answer = {
        "added": stored.added,
        "skipped": stored.skipped,
        "rejected": [_reason(each) for each in _in_order(taken.rejects, conflicts)],
        "run_refs": _references(taken, places, clashes),
        "held": _held(taken, places, clashes),
        "notes": _notes(taken, stored),
    }
    if stored.added or stored.skipped:
        return Told(201 if stored.added else 200, as_text(answer))
    return _nothing_taken(taken, conflicts, answer)


def _nothing_taken(taken: Taken, conflicts: Sequence[Reject], answer: dict[str, Any]) -> Told:
    kind = CONFLICT if conflicts and not taken.rejects else NOT_TAKEN
    reasons = [_reason(each) for each in _in_order(taken.reasons, conflicts)]
    says = "; ".join(each["reason"] for each in reasons[:3]) or "the request holds no run"
    more = f"; and {len(reasons) - 3} more" if len(reasons) > 3 else ""
    problem = details(
        kind,
        f"No run was logged: {says}{more}.",
        instance=RUNS,
        hint="mend what is named and send it again",
        reasons=reasons,
        **answer,
    )
    return Told(kind.status, as_text(problem))


def _in_order(*parts: Sequence[Reject]) -> list[Reject]:
    return sorted((each for part in parts for each in part), key=lambda each: each.position)


def _reason(reject: Reject) -> dict[str, Any]:
    return {"index": reject.position, "column": reject.column, "reason": reject.reason}


def _references(taken: Taken, places: Sequence[int], clashes: set[int]) -> list[str | None]:
    found: list[str | None] = [None] * taken.rows
    for place, run_ref in zip(places, taken.good["run_ref"].to_list(), strict=True):
        found[place] = None if place in clashes else run_ref
    return found


def _held(taken: Taken, places: Sequence[int], clashes: set[int]) -> list[str]:
    whole = zip(places, taken.good["run_ref"], taken.good["needle_parts_found"], strict=True)
    return [
        run_ref
        for place, run_ref, all_found in whole
        if all_found is False and place not in clashes
    ]


def _notes(taken: Taken, stored: Stored) -> list[str]:
    return [*taken.notes, *([SKIPPED] if stored.skipped else [])]
