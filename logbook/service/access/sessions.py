"""Sessions in signed cookies: which role signed in, with which passcode, and until when.

The browser keeps the session; the service keeps only the key that signs it and which sessions
were ended before their time.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import secrets
import threading
from dataclasses import dataclass

from logbook.service.access.credentials import ROLES, Credentials, Role

SESSION_SECONDS = 12 * 3600
LONGEST_COOKIE = 1000
"""Ours have about 200 characters; longer ones are not looked at."""


@dataclass(frozen=True, slots=True)
class Session:
    """One browser that has signed in."""

    name: str
    """Random; by it a session is ended."""
    role: Role
    generation: str
    """Of the passcode that was given."""
    until: int
    """Seconds since 1970."""


def begin_session(credentials: Credentials, role: Role, *, now: float) -> Session:
    """Begin a session for somebody who gave the passcode of a role."""
    generation = credentials.passcodes[role].generation
    return Session(secrets.token_hex(16), role, generation, int(now) + SESSION_SECONDS)


def cookie_name(credentials: Credentials) -> str:
    """Name the cookie of a book: cookies do not tell ports apart, and two books may be served."""
    return "logbook_" + hashlib.sha256(b"cookie name" + _key(credentials)).hexdigest()[:8]


def cookie_of(credentials: Credentials, session: Session) -> str:
    """Write a session as the value of a cookie."""
    values = [session.name, session.role, session.generation, session.until]
    content = base64.urlsafe_b64encode(json.dumps(values).encode()).decode().rstrip("=")
    return f"{content}.{_signature(credentials, content)}"


def session_in(credentials: Credentials, cookie: str, *, now: float) -> Session | None:
    """Read a cookie; None where it is not ours, has run out, or its passcode was changed."""
    content, _, signature = cookie.partition(".")
    if len(cookie) > LONGEST_COOKIE or not cookie.isascii():
        return None
    if not hmac.compare_digest(signature, _signature(credentials, content)):
        return None
    name, role, generation, until = json.loads(base64.urlsafe_b64decode(content + "=" * 3))
    kept = credentials.passcodes.get(role) if role in ROLES else None
    if kept is None or kept.generation != generation or until <= now:
        return None
    return Session(name, role, generation, until)


class EndedSessions:
    """Sessions that were signed out of, until they would have run out anyway."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._until: dict[str, int] = {}

    def end(self, session: Session, *, now: float) -> None:
        """End a session."""
        with self._lock:
            self._until = {name: end for name, end in self._until.items() if end > now}
            self._until[session.name] = session.until

    def __contains__(self, session: Session) -> bool:
        return session.name in self._until


def _signature(credentials: Credentials, content: str) -> str:
    signed = hmac.new(_key(credentials), b"session " + content.encode(), hashlib.sha256)
    return signed.hexdigest()


def _key(credentials: Credentials) -> bytes:
    return bytes.fromhex(credentials.key)
