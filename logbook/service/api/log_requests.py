"""A request to log runs: what it asks, what becomes of each run, and the reply."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from logbook.book.designs import filled
from logbook.book.runs import known_spellings, now_at
from logbook.runs.columns import columns_with
from logbook.runs.intake import Parsed, Reject, parse_runs
from logbook.service.api.addresses import RUNS
from logbook.service.api.bodies import Body
from logbook.service.api.idempotency import same_request
from logbook.service.api.problems import Problem, Refusal, as_text, details
from logbook.store import Stored
from logbook.store.duckdb_store import DuckStore
from logbook.store.replies import KeyedReply, Reply

MOST_RUNS = 10_000
CONFLICTS = (
    "the book already has a run with this reference and other content; give this one a reference "
    "of its own, or correct the earlier one with PATCH /api/runs/{run_ref}"
)
SKIPPED = (
    "skipped are runs that the book has to the letter already; where a run without run_ref is "
    "meant as one more, give it a reference of its own"
)


@dataclass(frozen=True, slots=True, eq=False)
class LogRequest:
    """The runs of one request."""

    book: DuckStore
    entries: Sequence[Any]
    body_digest: str
    """See :class:`logbook.service.api.bodies.Body`."""
    key: str | None
    """The sender's; the answer is then kept in the transaction of the runs."""
    source: str
    """Kept with each run."""


def log_request(book: DuckStore, body: Body, *, key: str | None, source: str) -> LogRequest:
    """The runs of a request: an object of run-sheet names and values, or a list of such.

    Raises
    ------
    Refusal
        More runs, or more names in one, than a request may bring.
    """
    entries = body.content if isinstance(body.content, list) else [body.content]
    if len(entries) > MOST_RUNS:
        raise Refusal(
            Problem.TOO_LARGE,
            f"The request holds {len(entries):,} runs; {MOST_RUNS:,} are the most at a time.",
            "send the runs in several requests, or a file with: logbook import",
        )
    _refuse_floods(entries, columns=len(columns_with(book.shop.own)))
    return LogRequest(book, entries, body.digest, key, source)


def log_alone(request: LogRequest) -> Reply:
    """Log the runs of one request by itself: those that can be, with a reason for each other.

    Raises
    ------
    Refusal
        The key was used for another request.
    """
    book, shop = request.book, request.book.shop
    earlier = None if request.key is None else book.reply_to(request.key)
    if earlier is not None:
        return same_request(earlier, request.body_digest)
    known = known_spellings(book)
    parsed = filled(book, parse_runs(request.entries, shop=shop, known=known, now=now_at(book)))
    reply = keyed_reply(request, parsed)
    stored = book.put(parsed.good, source=request.source, as_sent=parsed.as_sent, reply=reply)
    return reply_to(request, parsed, stored)


def keyed_reply(request: LogRequest, parsed: Parsed) -> KeyedReply | None:
    """What keeps the reply under the sender's key."""
    if request.key is None:
        return None
    return KeyedReply(request.key, lambda stored: reply_to(request, parsed, stored))


def _refuse_floods(entries: Sequence[Any], *, columns: int) -> None:
    for index, entry in enumerate(entries):
        # Guessing what a strange name was meant to be takes time: not for a flood of them.
        if isinstance(entry, Mapping) and len(entry) > 2 * columns:
            says = f"{len(entry):,} names in one run; a run sheet has {columns} columns"
            raise Refusal(
                Problem.TOO_LARGE,
                f"No run was logged: {says}.",
                "send each run as an object of its own",
                reasons=[_reason(Reject(index, "", says))],
            )


def reply_to(request: LogRequest, parsed: Parsed, stored: Stored) -> Reply:
    """The reply to a request whose runs are in the book."""
    places = parsed.good_positions.to_list()
    clashes = {places[position] for position in stored.conflicts}
    conflicts = [Reject(place, "run_ref", CONFLICTS) for place in sorted(clashes)]
    answer: dict[str, Any] = {
        "added": stored.added,
        "skipped": stored.skipped,
        "rejected": [_reason(each) for each in _in_order(parsed.rejects, conflicts)],
        "run_refs": _references(parsed, places, clashes),
        "held": _held(parsed, places, clashes),
        "notes": [*parsed.notes, *([SKIPPED] if stored.skipped else [])],
    }
    status = 201 if stored.added else 200
    if not stored.added and not stored.skipped:
        answer = _nothing_taken(parsed, conflicts, answer)
        status = answer["status"]
    return Reply(request.body_digest, status, as_text(answer))


def _nothing_taken(
    parsed: Parsed, conflicts: Sequence[Reject], answer: dict[str, Any]
) -> dict[str, Any]:
    problem = Problem.CONFLICT if conflicts and not parsed.rejects else Problem.NOT_TAKEN
    reasons = [_reason(each) for each in _in_order(parsed.reasons, conflicts)]
    says = "; ".join(each["reason"] for each in reasons[:3]) or "the request holds no run"
    more = f"; and {len(reasons) - 3} more" if len(reasons) > 3 else ""
    return details(
        problem,
        f"No run was logged: {says}{more}.",
        instance=RUNS,
        hint="mend what is named and send it again",
        reasons=reasons,
        **answer,
    )


def _in_order(*parts: Sequence[Reject]) -> list[Reject]:
    return sorted((each for part in parts for each in part), key=lambda each: each.position)


def _reason(reject: Reject) -> dict[str, Any]:
    return {"index": reject.position, "column": reject.column, "reason": reject.reason}


def _references(parsed: Parsed, places: Sequence[int], clashes: set[int]) -> list[str | None]:
    found: list[str | None] = [None] * parsed.rows
    for place, run_ref in zip(places, parsed.good["run_ref"].to_list(), strict=True):
        found[place] = None if place in clashes else run_ref
    return found


def _held(parsed: Parsed, places: Sequence[int], clashes: set[int]) -> list[str]:
    whole = zip(places, parsed.good["run_ref"], parsed.good["needle_parts_found"], strict=True)
    return [
        run_ref
        for place, run_ref, all_found in whole
        if all_found is False and place not in clashes
    ]
