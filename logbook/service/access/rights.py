"""Who may do what: operators log runs and see pages, reviewers also correct and settle.

On this computer alone everyone may do everything, until a passcode is set. Once others can reach
the service, nothing but a passcode or a token lets anyone in.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from fastapi import HTTPException
from starlette.requests import HTTPConnection

from logbook.errors import ServiceError
from logbook.service.access.credentials import (
    FILE_NAME,
    ROLES,
    Credentials,
    Role,
    new_credentials,
    read_credentials,
)
from logbook.service.access.sessions import EndedSessions, Session, cookie_name, session_in
from logbook.service.access.tokens import token_of

Right = Literal["log", "read", "review"]
RIGHTS: Mapping[Role, frozenset[Right]] = {
    "operator": frozenset({"log", "read"}),
    "reviewer": frozenset({"log", "read", "review"}),
}
MEANINGS: Mapping[Right, str] = {
    "log": "Logging runs",
    "read": "Reading the record",
    "review": "Correcting and withdrawing runs, materials and settings",
}


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks."""

    role: Role
    name: str
    """The token's name; ``operators`` or ``reviewers`` for a browser, else ``this computer``."""

    def may(self, right: Right) -> bool:
        """Whether this one may."""
        return right in RIGHTS[self.role]


ANYONE_HERE = Caller("reviewer", "this computer")


class Access:
    """Who may come into one served book; its credentials are read anew when their file changes.

    Parameters
    ----------
    folder
        The book's folder.
    reached_by_others
        Whether other machines can reach the service; then nobody is let in unasked.
    seconds_between_looks
        How long a change of their file may go unseen. Looking lets other threads go first, and
        each request asks several times.
    """

    def __init__(
        self, folder: Path, *, reached_by_others: bool = False, seconds_between_looks: float = 0.0
    ) -> None:
        self.folder = folder
        self.reached_by_others = reached_by_others
        self._lock = threading.Lock()
        self._ended = EndedSessions()
        self._read: tuple[object, Credentials] | None = None
        self._between_looks = seconds_between_looks
        self._looked_at = float("-inf")

    def credentials(self) -> Credentials:
        """The credentials as they stand now.

        Raises
        ------
        ServiceError
            Their file cannot be read.
        """
        with self._lock:
            now = time.monotonic()
            if self._read is not None and now < self._looked_at + self._between_looks:
                return self._read[1]
            stamp = self._stamp()
            if self._read is None or self._read[0] != stamp:
                found = read_credentials(self.folder)
                self._read = (stamp, new_credentials() if found is None else found)
            self._looked_at = now
            return self._read[1]

    def asks_browsers(self) -> bool:
        """Whether the pages ask for a passcode."""
        return self.reached_by_others or bool(self.credentials().passcodes)

    def asks_programs(self) -> bool:
        """Whether the HTTP API asks for a token."""
        return self.asks_browsers() or bool(self.credentials().tokens)

    def session(self, cookies: Mapping[str, str]) -> Session | None:
        """The session that a browser's cookies hold, if it still counts."""
        credentials = self.credentials()
        cookie = cookies.get(cookie_name(credentials))
        session = None if cookie is None else session_in(credentials, cookie, now=time.time())
        return None if session is None or session in self._ended else session

    def end(self, session: Session) -> None:
        """End a session before its time."""
        self._ended.end(session, now=time.time())

    def visitor(self, cookies: Mapping[str, str]) -> Caller | None:
        """Who a browser is; None where it has to sign in."""
        caller = self._of_session(cookies)
        return ANYONE_HERE if caller is None and not self.asks_browsers() else caller

    def caller(self, request: HTTPConnection) -> Caller | None:
        """Who sends a request, by token or by session; None where nobody known does.

        A token that is not known is never made good by a session beside it.
        """
        presented = request.headers.get("authorization")
        if presented is not None:
            scheme, _, token = presented.partition(" ")
            kept = (
                token_of(self.credentials(), token.strip()) if scheme.lower() == "bearer" else None
            )
            return None if kept is None else Caller(kept.role, kept.name)
        caller = self._of_session(request.cookies)
        return ANYONE_HERE if caller is None and not self.asks_programs() else caller

    def demand_passcodes(self) -> None:
        """Refuse to be reached by others before both passcodes are set.

        Raises
        ------
        ServiceError
            One is missing.
        """
        missing = [role for role in ROLES if role not in self.credentials().passcodes]
        if missing:
            raise ServiceError(
                "Other machines could read and change the book, since no passcode is set for "
                f"{' and '.join(f'{role}s' for role in missing)}.",
                "set it first, with: "
                + "   then: ".join(f"logbook passcode {role}" for role in missing),
            )

    def _of_session(self, cookies: Mapping[str, str]) -> Caller | None:
        session = self.session(cookies)
        return None if session is None else Caller(session.role, f"{session.role}s")

    def _stamp(self) -> object:
        try:
            found = (self.folder / FILE_NAME).stat()
        except FileNotFoundError:
            return None
        return found.st_ino, found.st_mtime_ns, found.st_size


class NotAllowed(HTTPException):
    """Refused: 401 where nobody known asks, 403 where the one who asks may not."""
