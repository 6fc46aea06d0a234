"""Runs: logged, read, corrected, taken back."""

from __future__ import annotations

import threading
from datetime import UTC
from typing import Annotated, Any

from fastapi import APIRouter, Query, Response

from logbook.book.run_search import listed_runs, with_made
from logbook.book.runs import amend_run, withdraw_run
from logbook.errors import RecordError, RunNotFound
from logbook.runs.intake.headings import heading_name
from logbook.runs.plain import plain_run
from logbook.service.api.bodies import JsonBytes, OptionalJsonBytes, read_json
from logbook.service.api.callers import (
    MAY_READ,
    MAY_REVIEW,
    WhoReviews,
    source_of,
)
from logbook.service.api.problems import OF_BODIES, Problem, Refusal, answer, reason
from logbook.service.api.query_parameters import GIVEN_ONCE, RunsParameters, only, wrong
from logbook.service.api.shapes import AMENDING, FILTER_PARAMETERS, WITHDRAWING, answers
from logbook.service.state import the_book
from logbook.store import Change
from logbook.store.duckdb_store import DuckStore

reading = APIRouter(tags=["Runs"], dependencies=[MAY_READ])
amending = APIRouter(tags=["Runs"], dependencies=[MAY_REVIEW])

_ONE_CORRECTION = threading.Lock()
"""A correction reads the run and then writes it: two at a time could lose one of them."""

Why = Annotated[str | None, Query(description="Why; kept in the history of the run.")]


@reading.get(
    "/runs",
    summary="Runs, the last finished first",
    responses=answers("Runs", Problem.NOT_UNDERSTOOD),
    dependencies=[GIVEN_ONCE],
    openapi_extra={"parameters": FILTER_PARAMETERS},
)
def list_runs(parameters: Annotated[RunsParameters, Query()]) -> Response:
    """The runs of some days, with some words or of some columns, the last finished first.

    `more` is true where there are more than `limit`.
    """
    book = the_book()
    return answer(listed_runs(book, parameters.runs_window(book), limit=parameters.limit))


@reading.get(
    "/runs/{run_ref:path}",
    summary="One run with its history",
    responses=answers("RunWithHistory", Problem.NO_SUCH_RUN, Problem.NOT_UNDERSTOOD),
    dependencies=[only()],
)
def read_run(run_ref: str) -> Response:
    """One run as it stands, and every version of it, the first logged first."""
    return answer(_run(the_book(), run_ref))


@amending.patch(
    "/runs/{run_ref:path}",
    summary="Correct a run",
    responses=answers("CorrectedRun", *OF_BODIES, Problem.NO_SUCH_RUN, Problem.CONFLICT),
    openapi_extra=AMENDING,
    dependencies=[only("why")],
)
def correct_run(run_ref: str, caller: WhoReviews, body: JsonBytes, why: Why = None) -> Response:
    """Correct some values; null takes one back to *not recorded*.

    The version before stays in the history. `why` may be left out, or be given in the body, too.
    `remarks` say what is worth a look, and what went along: where `pieces_defective` was the
    largest count of one kind, it stays so.
    """
    changes = _object(read_json(body).content)
    reasoned = _why(changes.pop("why", None), why)
    named: dict[str, Any] = {}
    for given, value in changes.items():
        name = heading_name(given) or given
        if name in named:
            raise wrong(name, f"{name} is given twice")
        named[name] = value
    book = the_book()
    with _ONE_CORRECTION:
        amended = amend_run(book, run_ref, named, why=reasoned, source=source_of(caller))
    return answer(_run(book, run_ref) | {"remarks": list(amended.notes)})


@amending.delete(
    "/runs/{run_ref:path}",
    summary="Withdraw a run",
    responses=answers("Withdrawn", *OF_BODIES, Problem.NO_SUCH_RUN, Problem.CONFLICT),
    openapi_extra=WITHDRAWING,
    dependencies=[only("why")],
)
def take_back_run(
    run_ref: str, caller: WhoReviews, body: OptionalJsonBytes, why: Why = None
) -> Response:
    """Take a run out of every count. It stays in the history, with the reason in `why`.

    `why` is given as a parameter or in the body, and must be there.
    """
    fields = _object(read_json(body).content) if body else {}
    reasoned = _why(fields.pop("why", None), why)
    if fields:
        name = next(iter(fields))
        raise wrong(name, f"{name!r} says nothing here: only why is looked at")
    if reasoned is None:
        raise RecordError(
            f"The run {run_ref} was not withdrawn: say why.",
            "add the reason to the address, such as ?why=entered+twice, or to the body",
            reasons={"why": "a withdrawn run needs a reason"},
        )
    withdraw_run(the_book(), run_ref, why=reasoned, source=source_of(caller))
    return answer({"run_ref": run_ref, "withdrawn": True, "notes": []})


def _run(book: DuckStore, run_ref: str) -> dict[str, Any]:
    changes = book.history(run_ref)
    if not changes or changes[-1].what == "withdrawn":
        raise _gone(run_ref, changes)
    present = book.runs(refs=[run_ref])
    if present.is_empty():
        raise _gone(run_ref, book.history(run_ref))
    run = with_made(book, present).row(0, named=True)
    return plain_run(run) | {"history": [_change(each) for each in changes]}


def _gone(run_ref: str, changes: tuple[Change, ...]) -> RunNotFound:
    withdrawn = ""
    if changes:
        day, why = changes[-1].happened_at.date(), changes[-1].why
        withdrawn = f" It was withdrawn on {day}: {why}."
    return RunNotFound(
        f"There is no run {run_ref} in the book.{withdrawn}",
        "look the reference up with GET /api/runs",
    )


def _change(change: Change) -> dict[str, Any]:
    return {
        "version": change.version,
        "happened_at": change.happened_at.replace(tzinfo=UTC).isoformat(),
        "what": change.what,
        "why": change.why,
        "source": change.source,
        "content": dict(change.content),
    }


def _object(content: Any) -> dict[str, Any]:
    if not isinstance(content, dict):
        says = "the body is not an object of names and values"
        raise Refusal(
            Problem.NOT_UNDERSTOOD,
            f"Nothing was changed: {says}.",
            'send an object, such as {"puckering": 1, "why": "recounted"}',
            reasons=[reason("", says)],
        )
    return dict(content)


def _why(in_body: object, in_query: str | None) -> str | None:
    why = in_query if in_body is None else in_body
    if why is None:
        return None
    if not isinstance(why, str):
        raise wrong("why", "why is not a text")
    return why.strip() or None
