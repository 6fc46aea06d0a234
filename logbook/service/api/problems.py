"""Errors as problem details (RFC 9457): what went wrong, where, and what to do about it."""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping, Sequence
from enum import Enum
from http import HTTPStatus
from typing import Any

from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from logbook import errors
from logbook.errors import LogbookError, ParameterError, RecordError
from logbook.service.api.addresses import MARKS, RUNS, as_address

PROBLEM_TYPE = "application/problem+json"
DESCRIBED_AT = "/api/docs"

SAFELY_AGAIN = {
    "runs": ", under the same Idempotency-Key or with the same run_ref, if it has one",
    "marks": " under its Idempotency-Key (without one, look at the marks with GET first)",
}
"""How that which may be kept already is told from that which is new."""

WITH_REASONS = (RecordError, ParameterError)
_LOG = logging.getLogger(__name__)


class Problem(Enum):
    """The kinds of problem, as the description lists them: slug, HTTP status, title."""

    NOT_JSON = ("not-json", 400, "The body is not JSON")
    BAD_KEY = ("bad-key", 400, "The Idempotency-Key cannot be used")
    NO_SUCH_RUN = ("no-such-run", 404, "There is no such run")
    NO_SUCH_TRIAL = ("no-such-trial", 404, "There is no such trial")
    CHANGED_MEANWHILE = ("changed-meanwhile", 409, "Somebody else changed it meanwhile")
    CONFLICT = ("conflict", 409, "The reference is taken by a run with other content")
    STILL_RUNNING = ("still-running", 409, "The first request with this key is still running")
    TOO_LARGE = ("too-large", 413, "The request is too large")
    WRONG_MEDIA_TYPE = ("wrong-media-type", 415, "The body is not sent as JSON")
    NOT_TAKEN = ("not-taken", 422, "Nothing could be taken")
    NOT_UNDERSTOOD = ("not-understood", 422, "Some of what was asked cannot be")
    OTHER_BODY = ("other-body", 422, "The key was used for another body")
    NO_ANSWER = ("no-answer", 422, "The record cannot answer this")
    UNEXPECTED = ("unexpected", 500, "Something went wrong here")
    BOOK_CLOSED = ("book-closed", 503, "The book cannot be used just now")

    def __init__(self, slug: str, status: int, title: str) -> None:
        self.slug = slug
        self.status = status
        self.title = title

    @property
    def type(self) -> str:
        """Where the kind is described."""
        return f"{DESCRIBED_AT}#{self.slug}"


OF_BODIES = (Problem.NOT_JSON, Problem.TOO_LARGE, Problem.WRONG_MEDIA_TYPE, Problem.NOT_UNDERSTOOD)
"""What can be wrong with any body."""

PROBLEM_OF: tuple[tuple[type[LogbookError], Problem], ...] = (
    (errors.RunNotFound, Problem.NO_SUCH_RUN),
    (errors.RunConflict, Problem.CONFLICT),
    (errors.DocumentNotFound, Problem.NO_SUCH_TRIAL),
    (errors.DocumentChanged, Problem.CHANGED_MEANWHILE),
    (errors.RecordError, Problem.NOT_UNDERSTOOD),
    (errors.ParameterError, Problem.NOT_UNDERSTOOD),
    (errors.VocabularyError, Problem.NOT_UNDERSTOOD),
    (errors.IntakeError, Problem.NOT_UNDERSTOOD),
    (errors.AnalysisError, Problem.NO_ANSWER),
    (errors.StoreError, Problem.BOOK_CLOSED),
    (errors.SettingsError, Problem.BOOK_CLOSED),
    (errors.ServiceError, Problem.BOOK_CLOSED),
    (LogbookError, Problem.UNEXPECTED),
)
"""The first that fits counts."""


class Refusal(Exception):
    """A request turned away by the API itself, before the book is asked."""

    def __init__(
        self,
        problem: Problem,
        detail: str,
        hint: str | None = None,
        *,
        reasons: Sequence[Mapping[str, Any]] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.problem = problem
        self.detail = detail
        self.hint = hint
        self.reasons = reasons
        self.headers = headers


def problem_of(error: LogbookError) -> Problem:
    """Which kind of problem an error of ours is."""
    return next(problem for kind, problem in PROBLEM_OF if isinstance(error, kind))


def reason(column: str, says: str) -> dict[str, Any]:
    """One entry of ``reasons``."""
    return {"column": column, "reason": says}


def details(
    problem: Problem,
    detail: str,
    *,
    instance: str,
    hint: str | None = None,
    reasons: Sequence[Mapping[str, Any]] = (),
    **more: Any,
) -> dict[str, Any]:
    """The members of a problem; ``more`` are extensions of its kind."""
    return {
        "type": problem.type,
        "title": problem.title,
        "status": problem.status,
        "detail": detail,
        "instance": instance,
        "reasons": [dict(each) for each in reasons],
        "hint": hint,
        **more,
    }


def details_of(error: LogbookError, *, instance: str) -> dict[str, Any]:
    """An error of ours as a problem; of one that nobody foresaw nothing inner is told."""
    problem = problem_of(error)
    if problem is Problem.UNEXPECTED:
        _LOG.error("The request %s failed.", instance, exc_info=error)
        return unexpected(instance)
    reasons = error.reasons.items() if isinstance(error, WITH_REASONS) else ()
    return details(
        problem,
        error.message,
        instance=instance,
        hint=error.hint,
        reasons=[reason(column, says) for column, says in reasons],
    )


def details_of_status(status: int, detail: str, *, instance: str) -> dict[str, Any]:
    """A problem that has no kind of its own, such as 405: told by its status (RFC 9457, 4.2.1)."""
    try:
        title = HTTPStatus(status).phrase
    except ValueError:
        title = "Error"
    return {
        "type": "about:blank",
        "title": title,
        "status": status,
        "detail": detail,
        "instance": instance,
        "reasons": [],
        "hint": f"see {DESCRIBED_AT} for what can be asked",
    }


def unexpected(instance: str, method: str = "GET") -> dict[str, Any]:
    """A problem of which nothing but the log of the service tells more.

    What was to be added may be in the book, if it failed late: such a request is told how it can
    be sent again without harm.
    """
    hint = "look into the log of the service, and report it with what stands there"
    what = _added_at(instance) if method == "POST" else None
    if what is None:
        says = "The service could not do what was asked; nothing more is told here."
        return details(Problem.UNEXPECTED, says, instance=instance, hint=hint)
    return details(
        Problem.UNEXPECTED,
        f"Something failed on the way: the {what} may be kept, or not. Sending the same request "
        f"again is safe{SAFELY_AGAIN[what]}; nothing is added twice.",
        instance=instance,
        hint=f"send it again as it is; if that fails too, {hint}",
    )


def _added_at(instance: str) -> str | None:
    if instance == RUNS:
        return "runs"
    is_marks = instance.startswith(f"{RUNS}/") and instance.endswith(f"/{MARKS}")
    return "marks" if is_marks else None


def answer(
    content: Mapping[str, Any] | str,
    status: int = 200,
    *,
    headers: Mapping[str, str] | None = None,
) -> Response:
    """JSON, as problem details where the status is one of an error."""
    media_type = PROBLEM_TYPE if status >= 400 else "application/json"
    text = content if isinstance(content, str) else as_text(content)
    # A lone surrogate of a request may be repeated in a reason; no encoding can hold it.
    sent = text.encode("utf-8", "replace")
    return Response(sent, status, headers=dict(headers or {}), media_type=media_type)


def answer_problem(
    details: Mapping[str, Any], *, headers: Mapping[str, str] | None = None
) -> Response:
    """The members of a problem as a response with its status."""
    return answer(details, details["status"], headers=headers)


def as_text(content: Mapping[str, Any]) -> str:
    """An answer as JSON text."""
    return json.dumps(content, ensure_ascii=False, allow_nan=False)


class NothingInnerLeaks:
    """Answer unexpected errors with a plain problem, and log them."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on; whatever fails is told without inner details."""
        begun = False

        async def sending(message: Message) -> None:
            nonlocal begun
            begun = True
            await send(message)

        try:
            await self.app(scope, receive, sending)
        except Exception:
            if scope["type"] != "http" or begun:
                raise
            _LOG.exception("The request %s %s failed.", scope["method"], scope["path"])
            problem = unexpected(as_address(scope["path"]), scope["method"])
            await answer_problem(problem)(scope, receive, send)
