"""A request that comes again under the same key gets the answer that it got the first time.

After draft-ietf-httpapi-idempotency-key-header: the sender makes up a key for each request and
repeats it when the answer did not arrive. The answer is kept in the book, in the transaction of
the runs that it is about.
"""

from __future__ import annotations

import re
import threading
from typing import Annotated, Any

from fastapi import Header

from logbook.service.api.problems import Problem, Refusal
from logbook.store.replies import KEPT_FOR, Reply

KEY_NAME = "Idempotency-Key"
LONGEST_KEY = 255

_PLAIN = re.compile(r"[\x21\x23-\x5b\x5d-\x7e]+")
_QUOTED = re.compile(r'"((?:[\x20\x21\x23-\x5b\x5d-\x7e]|\\["\\])+)"')


def key_header(when_it_comes_again: str) -> Any:
    """Describe the header of a route."""
    return Header(
        alias=KEY_NAME,
        description="Any text of the sender's own, such as a UUID in quotes, new for each request. "
        + when_it_comes_again,
        examples=['"8e03978e-40d5-43dd-bc93-6894a57f9324"'],
    )


KeyHeader = Annotated[
    str | None,
    key_header(
        "The same request under the same key gets the first answer again, for "
        f"{KEPT_FOR.days} days."
    ),
]


class KeysInUse:
    """Keys of requests that are being worked on; one process holds the book, so a set will do."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._keys: set[str] = set()

    def claim(self, key: str | None) -> None:
        """Hold a key until it is released.

        Raises
        ------
        Refusal
            Another request holds it.
        """
        if key is None:
            return
        with self._lock:
            if key in self._keys:
                raise Refusal(
                    Problem.STILL_RUNNING,
                    "A request with this Idempotency-Key is being worked on.",
                    "wait a moment, then send it again",
                    headers={"Retry-After": "1"},
                )
            self._keys.add(key)

    def release(self, key: str | None) -> None:
        """Let another request have the key."""
        if key is not None:
            with self._lock:
                self._keys.discard(key)


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
            Problem.BAD_KEY,
            "The header Idempotency-Key holds no key that can be used.",
            'send a text in quotes, such as "8e03978e-40d5-43dd-bc93-6894a57f9324"',
        )
    if len(key) > LONGEST_KEY:
        raise Refusal(
            Problem.BAD_KEY,
            f"The Idempotency-Key is longer than {LONGEST_KEY} characters.",
            "send a shorter one, such as a UUID",
        )
    return f"{sender}: {key}"


def same_request(earlier: Reply, body_digest: str) -> Reply:
    """What was answered before, if that was to the same request.

    Raises
    ------
    Refusal
        The key was used for another body.
    """
    if earlier.request_digest != body_digest:
        raise Refusal(
            Problem.OTHER_BODY,
            "This Idempotency-Key was used before, for a request with another body.",
            "make a new key for each new request",
        )
    return earlier
