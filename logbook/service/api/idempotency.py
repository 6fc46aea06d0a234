"""A request that comes again under the same key gets the answer that it got the first time.

After draft-ietf-httpapi-idempotency-key-header: the sender makes up a key for each request and
repeats it when the answer did not arrive. The answer is kept in the book, in the transaction of
the runs that it is about.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated

from fastapi import Header

from logbook.service.api.problems import BAD_KEY, OTHER_BODY, STILL_RUNNING, Refusal
from logbook.store.answered import KEPT_FOR, Answered
from logbook.store.duckdb_store import DuckStore

LONGEST_KEY = 255

_PLAIN = re.compile(r"[\x21\x23-\x5b\x5d-\x7e]+")
_QUOTED = re.compile(r'"((?:[\x20\x21\x23-\x5b\x5d-\x7e]|\\["\\])+)"')

KeyHeader = Annotated[
    str | None,
    Header(
        alias="Idempotency-Key",
        description=(
            "Any text of the sender's own, such as a UUID in quotes, new for each request. The "
            "same request under the same key gets the first answer again, for "
            f"{KEPT_FOR.days} days."
        ),
        examples=['"8e03978e-40d5-43dd-bc93-6894a57f9324"'],
    ),
]


class Running:
    """Keys of requests that are being worked on; one process holds the book, so a set will do."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._keys: set[str] = set()

    @contextmanager
    def claimed(self, key: str | None) -> Iterator[None]:
        """Hold a key until the block ends.

        Raises
        ------
        Refusal
            Another request holds it.
        """
        if key is None:
            yield
            return
        with self._lock:
            if key in self._keys:
                raise Refusal(
                    STILL_RUNNING,
                    "A request with this Idempotency-Key is being worked on.",
                    "wait a moment, then send it again",
                    headers={"Retry-After": "1"},
                )
            self._keys.add(key)
        try:
            yield
        finally:
            with self._lock:
                self._keys.remove(key)


def read_key(header: str | None, sender: str) -> str | None:
    """The key in a header, a string of RFC 8941 in quotes or plain, as that sender's own.

    Raises
    ------
    Refusal
        It is neither, or too long.
    """
    if header is None:
        return None
    text = header.strip()
    quoted = _QUOTED.fullmatch(text)
    key = re.sub(r"\\(.)", r"\1", quoted[1]) if quoted else text
    if not quoted and not _PLAIN.fullmatch(text):
        raise Refusal(
            BAD_KEY,
            "The header Idempotency-Key holds no key that can be used.",
            'send a text in quotes, such as "8e03978e-40d5-43dd-bc93-6894a57f9324"',
        )
    if len(key) > LONGEST_KEY:
        raise Refusal(
            BAD_KEY,
            f"The Idempotency-Key is longer than {LONGEST_KEY} characters.",
            "send a shorter one, such as a UUID",
        )
    return f"{sender}: {key}"


def first_answer(book: DuckStore, key: str | None, mark: str) -> Answered | None:
    """What the same request was answered before; None where it is new.

    Raises
    ------
    Refusal
        The key was used for another body.
    """
    earlier = None if key is None else book.answered(key)
    if earlier is not None and earlier.request_mark != mark:
        raise Refusal(
            OTHER_BODY,
            "This Idempotency-Key was used before, for a request with another body.",
            "make a new key for each new request",
        )
    return earlier
