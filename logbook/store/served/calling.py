"""One HTTP call to the service of a book on this machine."""

from __future__ import annotations

import http.client
import json
from collections.abc import Callable, Iterator
from typing import Any
from urllib.parse import urlsplit

from logbook.errors import StoreError
from logbook.store.served.notice import Notice
from logbook.store.served.wire import REFUSED, TOKEN_HEADER, error_in

HELLO_SECONDS = 5.0
ANSWER_SECONDS = 900.0
"""Longer than any question or import takes: a service that hangs must not hang a command."""
PART_BYTES = 1 << 20


class NoAnswer(Exception):
    """Nothing that talks as a service does answers at the address."""


def call(
    notice: Notice,
    what: str,
    *,
    body: bytes = b"",
    seconds: float = ANSWER_SECONDS,
    sent: Callable[[float], object] | None = None,
) -> bytes:
    """Ask the service and return its answer.

    Parameters
    ----------
    notice
        Where it is.
    what
        Name of the operation, such as ``count``.
    body
        Its arguments.
    seconds
        How long to wait for the answer.
    sent
        Told what share of the body has gone out.

    Raises
    ------
    NoAnswer
        There is no service there, it went away, or it does not know the token.
    LogbookError
        What the service's own store raised.
    """
    headers = {TOKEN_HEADER: notice.token, "Content-Length": str(len(body))}
    line = _line(notice.address, seconds)
    try:
        line.request("POST", f"/book/{what}", body=_parts(body, sent), headers=headers)
        answer = line.getresponse()
        status, content = answer.status, answer.read()
    except (OSError, http.client.HTTPException, ValueError) as cause:
        raise NoAnswer(str(cause) or type(cause).__name__) from cause
    finally:
        line.close()
    if status == http.client.OK:
        return content
    if status == REFUSED:
        raise error_in(read_json(content))
    if status == http.client.INTERNAL_SERVER_ERROR:
        raise StoreError(
            "The running service could not do what was asked.",
            f"look at what it wrote where it was started (process {notice.process_id})",
        )
    raise NoAnswer(f"status {status}")


def _line(address: str, seconds: float) -> http.client.HTTPConnection:
    try:
        where = urlsplit(address)
        return http.client.HTTPConnection(where.hostname or "", where.port, timeout=seconds)
    except (ValueError, http.client.HTTPException) as cause:
        raise NoAnswer(f"{address} is not an address") from cause


def read_json(content: bytes) -> Any:
    """The plain values of an answer.

    Raises
    ------
    NoAnswer
        It is not that of a service.
    """
    try:
        return json.loads(content)
    except ValueError as cause:
        raise NoAnswer("the answer is not that of a service") from cause


def _parts(body: bytes, sent: Callable[[float], object] | None) -> bytes | Iterator[bytes]:
    return body if sent is None else _reply(body, sent)


def _reply(body: bytes, sent: Callable[[float], object]) -> Iterator[bytes]:
    for start in range(0, len(body), PART_BYTES):
        yield body[start : start + PART_BYTES]
        sent(min(1.0, (start + PART_BYTES) / len(body)))
