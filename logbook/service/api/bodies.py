"""The body of a request: its type, its size, and the JSON in it."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import Annotated, Any, NoReturn

from fastapi import Depends, Request

from logbook.service.api.problems import Problem, Refusal

MOST_BYTES = 10_000_000
MEDIA_TYPES: tuple[str, ...] = ("application/json", "application/merge-patch+json")


@dataclass(frozen=True, slots=True)
class Body:
    """What a body says, and its digest: the same for the same content, however it is spaced."""

    content: Any
    digest: str


async def json_bytes(request: Request) -> bytes:
    """The whole body, refused where it is no JSON by its media type, or too large."""
    media_type = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if media_type not in MEDIA_TYPES:
        raise Refusal(
            Problem.WRONG_MEDIA_TYPE,
            f"The body was sent as {media_type or 'nothing in particular'}, not as JSON.",
            "send the header Content-Type: application/json",
        )
    return await _whole(request)


async def optional_json_bytes(request: Request) -> bytes:
    """As :func:`json_bytes`, but there may be no body at all."""
    if request.headers.get("content-type"):
        return await json_bytes(request)
    body = await _whole(request)
    return await json_bytes(request) if body else body


JsonBytes = Annotated[bytes, Depends(json_bytes)]
OptionalJsonBytes = Annotated[bytes, Depends(optional_json_bytes)]


def read_json(body: bytes) -> Body:
    """Read a body; done on a thread, since a large one takes its time.

    Raises
    ------
    Refusal
        It is not JSON (RFC 8259), or gives a name twice in one object.
    """
    try:
        content = json.loads(
            body.decode("utf-8-sig"),
            object_pairs_hook=_each_name_once,
            parse_constant=_no_constant,
        )
        plain = json.dumps(content, sort_keys=True, separators=(",", ":"))
    except UnicodeDecodeError as cause:
        raise _not_json("it is not UTF-8") from cause
    except RecursionError as cause:
        raise _not_json("it is nested too deeply") from cause
    except ValueError as cause:
        raise _not_json(str(cause)) from cause
    return Body(content, hashlib.sha256(plain.encode()).hexdigest())


async def _whole(request: Request) -> bytes:
    body, got = bytearray(), 0
    # Read to the end even where it is too large: a sender that is cut off never sees the answer.
    async for chunk in request.stream():
        got += len(chunk)
        if got <= MOST_BYTES:
            body += chunk
    if got > MOST_BYTES:
        raise Refusal(
            Problem.TOO_LARGE,
            f"The body is larger than {MOST_BYTES // 1_000_000} MB.",
            "send the runs in several requests, or a file with: logbook import",
        )
    return bytes(body)


def _each_name_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"an object gives {twice[:40]!r} twice")
    return found


def _no_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number of JSON")


def _not_json(why: str) -> Refusal:
    return Refusal(
        Problem.NOT_JSON,
        f"The body cannot be read as JSON: {why}.",
        "send valid JSON (RFC 8259) in UTF-8",
    )
