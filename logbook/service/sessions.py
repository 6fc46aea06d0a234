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

from logbook.service.passcodes import ROLES, Rights, Role

SESSION_SECONDS = 12 * 3600
LONGEST_COOKIE = 1000
"""Ours have about 200 signs; longer ones are not looked at."""


@dataclass(frozen=True, slots=True)
class Session:
    """One browser that has signed in."""

    name: str
    """Random; by it a session is ended."""
    role: Role
    mark: str
    """Of the passcode that was given."""
    until: int
    """Seconds since 1970."""


def begin_session(rights: Rights, role: Role, *, now: float) -> Session:
    """Begin a session for somebody who gave the passcode of a role."""
    mark = rights.passcodes[role].mark
    return Session(secrets.token_hex(16), role, mark, int(now) + SESSION_SECONDS)


def cookie_name(rights: Rights) -> str:
    """Name the cookie of a book: cookies do not tell ports apart, and two books may be served."""
    return "logbook_" + hashlib.sha256(b"cookie name" + _key(rights)).hexdigest()[:8]


def cookie_of(rights: Rights, session: Session) -> str:
    """Write a session as the value of a cookie."""
    told = json.dumps([session.name, session.role, session.mark, session.until]).encode()
    content = base64.urlsafe_b64encode(told).decode().rstrip("=")
    return f"{content}.{_signature(rights, content)}"


def session_in(rights: Rights, cookie: str, *, now: float) -> Session | None:
    """Read a cookie; None where it is not ours, has run out, or its passcode was changed."""
    content, _, signature = cookie.partition(".")
    if len(cookie) > LONGEST_COOKIE or not cookie.isascii():
        return None
    if not hmac.compare_digest(signature, _signature(rights, content)):
        return None
    name, role, mark, until = json.loads(base64.urlsafe_b64decode(content + "=" * 3))
    kept = rights.passcodes.get(role) if role in ROLES else None
    if kept is None or kept.mark != mark or until <= now:
        return None
    return Session(name, role, mark, until)


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


def _signature(rights: Rights, content: str) -> str:
    signed = hmac.new(_key(rights), b"session " + content.encode(), hashlib.sha256)
    return signed.hexdigest()


def _key(rights: Rights) -> bytes:
    return bytes.fromhex(rights.key)
