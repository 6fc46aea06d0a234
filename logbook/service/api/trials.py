"""Trials over HTTP: drawn up and kept, started, ended; how they stand is asked like a question."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Response

from logbook.book.trials import start_trial, trial_named
from logbook.questions.trials.keeping import judge_and_end, plan_and_keep
from logbook.questions.trials.plan_words import plan_json
from logbook.questions.trials.result import trial_json
from logbook.runs.trials import SCOPE
from logbook.service.api.bodies import JsonBytes, OptionalJsonBytes, read_json
from logbook.service.api.callers import MAY_REVIEW, WhoReviews, source_of
from logbook.service.api.problems import OF_BODIES, Problem, Refusal, answer, reason
from logbook.service.api.query_parameters import only
from logbook.service.api.shapes import ENDING, PLANNING, answers
from logbook.service.state import the_book

deciding = APIRouter(tags=["Trials"], dependencies=[MAY_REVIEW])

TEXTS = ("factor", "before", "after", "defect")
WHOLE = ("suggestion", "pieces_per_arm", "seed")
NUMBERS = ("smallest_difference", "worth", "power", "alpha")
STANDING = (Problem.NO_SUCH_TRIAL, Problem.CHANGED_MEANWHILE, Problem.NOT_UNDERSTOOD)


@deciding.post(
    "/trials",
    summary="Draw up a trial",
    responses=answers("TrialPlan", *OF_BODIES, Problem.NO_ANSWER, adds=True),
    openapi_extra=PLANNING,
    dependencies=[only()],
)
def plan_trial(caller: WhoReviews, body: JsonBytes) -> Response:
    """Say what a trial of one change takes, and keep it where it can decide.

    Name the work (`fabric` at least) and either `factor`, `before` and `after`, or the number of
    a `suggestion`. With `keep` false nothing is kept. The answer is 201 with the trial kept, 200
    where none was.
    """
    told = _object(read_json(body).content, (*SCOPE, *TEXTS, *WHOLE, *NUMBERS, "keep"))
    keep = told.pop("keep", True)
    if not isinstance(keep, bool):
        raise _wrong("keep", "keep is neither true nor false")
    for name in (*SCOPE, *TEXTS):
        if not isinstance(told.get(name, ""), str):
            raise _wrong(name, f"{name} is not text")
    for name in (*WHOLE, *NUMBERS):
        _number(told, name)
    scope = {name: told.pop(name) for name in SCOPE if name in told}
    planned, kept = plan_and_keep(the_book(), scope, source=source_of(caller), keep=keep, **told)
    where = None if kept is None else {"Location": f"/api/trials?trial={kept.ref}"}
    content: dict[str, Any] = {**plan_json(planned, kept)}
    return answer(content, 200 if kept is None else 201, headers=where)


@deciding.post(
    "/trials/{ref}/start",
    summary="Start a trial",
    responses=answers("Trial", *STANDING),
    dependencies=[only()],
)
def start(ref: str, caller: WhoReviews) -> Response:
    """Start a planned trial: from now on the form offers its loads."""
    book = the_book()
    kept = start_trial(book, trial_named(book, ref), source=source_of(caller))
    return answer({**trial_json(kept)})


@deciding.post(
    "/trials/{ref}/end",
    summary="End a trial",
    responses=answers("Trial", *OF_BODIES, *STANDING),
    openapi_extra=ENDING,
    dependencies=[only()],
)
def end(ref: str, caller: WhoReviews, body: OptionalJsonBytes) -> Response:
    """End a trial with the verdict that it has now; `why` says what is to be said of it."""
    told = _object(read_json(body).content, ("why",)) if body else {}
    why = told.get("why")
    if why is not None and not isinstance(why, str):
        raise _wrong("why", "why is not text")
    book = the_book()
    kept, _ = judge_and_end(book, trial_named(book, ref), why=why, source=source_of(caller))
    return answer({**trial_json(kept)})


def _number(told: dict[str, Any], name: str) -> None:
    value = told.get(name)
    whole = name in WHOLE
    if value is None:
        told.pop(name, None)
    elif isinstance(value, bool) or not isinstance(value, int if whole else int | float):
        raise _wrong(name, f"{name} is not a {'whole ' if whole else ''}number")
    elif not 0 <= value <= 1e9:
        raise _wrong(name, f"{name} is not a number from 0 up")


def _object(content: Any, names: tuple[str, ...]) -> dict[str, Any]:
    if not isinstance(content, dict):
        raise _wrong("", "the body is not an object of names and values")
    for name in content:
        if name not in names:
            raise _wrong(name, f"there is no {name[:40]!r} here: it has {', '.join(names)}")
    return {name: value for name, value in content.items() if value is not None}


def _wrong(column: str, says: str) -> Refusal:
    return Refusal(
        Problem.NOT_UNDERSTOOD,
        f"Nothing was done: {says}.",
        'send an object, such as {"fabric": "pique", "suggestion": 1}',
        reasons=[reason(column, says)],
    )
