"""Who may do what: operators log runs and see pages, reviewers also correct and settle.

On this computer alone everyone may do everything, until a passcode is set. Once others can reach
the service, nothing but a passcode or a token lets anyone in.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from fastapi import HTTPException, Request
from starlette.requests import HTTPConnection

from logbook.errors import ServiceError
from logbook.service.holding import the_book
from logbook.service.passcodes import (
    FILE_NAME,
    ROLES,
    Rights,
    Role,
    new_rights,
    read_rights,
    token_of,
)
from logbook.service.sessions import EndedSessions, Session, cookie_name, session_in

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
    """The rights of one served book, read anew whenever their file changes.

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
        self._read: tuple[object, Rights] | None = None
        self._between_looks = seconds_between_looks
        self._looked_at = float("-inf")

    def rights(self) -> Rights:
        """The rights as they stand now.

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
                found = read_rights(self.folder)
                self._read = (stamp, new_rights() if found is None else found)
            self._looked_at = now
            return self._read[1]

    def asks_browsers(self) -> bool:
        """Whether the pages ask for a passcode."""
        return self.reached_by_others or bool(self.rights().passcodes)

    def asks_programs(self) -> bool:
        """Whether the HTTP API asks for a token."""
        return self.asks_browsers() or bool(self.rights().tokens)

    def session(self, cookies: Mapping[str, str]) -> Session | None:
        """The session that a browser's cookies hold, if it still counts."""
        rights = self.rights()
        cookie = cookies.get(cookie_name(rights))
        session = None if cookie is None else session_in(rights, cookie, now=time.time())
        return None if session is None or session in self._ended else session

    def end(self, session: Session) -> None:
        """End a session before its time."""
        self._ended.end(session, now=time.time())

    def visitor(self, cookies: Mapping[str, str]) -> Caller | None:
        """Who a browser is; None where it has to sign in."""
        session = self.session(cookies)
        if session is not None:
            return Caller(session.role, f"{session.role}s")
        return None if self.asks_browsers() else ANYONE_HERE

    def caller(self, asked: HTTPConnection) -> Caller | None:
        """Who sends a request, by token or by session; None where nobody known does.

        A token that is not known is never made good by a session beside it.
        """
        presented = asked.headers.get("authorization")
        if presented is not None:
            scheme, _, token = presented.partition(" ")
            kept = token_of(self.rights(), token.strip()) if scheme.lower() == "bearer" else None
            return None if kept is None else Caller(kept.role, kept.name)
        session = self.session(asked.cookies)
        if session is not None:
            return Caller(session.role, f"{session.role}s")
        return None if self.asks_programs() else ANYONE_HERE

    def demand_passcodes(self) -> None:
        """Refuse to be reached by others before both passcodes are set.

        Raises
        ------
        ServiceError
            One is missing.
        """
        missing = [role for role in ROLES if role not in self.rights().passcodes]
        if missing:
            raise ServiceError(
                "Other machines could read and change the book, since no passcode is set for "
                f"{' and '.join(f'{role}s' for role in missing)}.",
                "set it first, with: "
                + "   then: ".join(f"logbook passcode {role}" for role in missing),
            )

    def _stamp(self) -> object:
        try:
            told = (self.folder / FILE_NAME).stat()
        except FileNotFoundError:
            return None
        return told.st_ino, told.st_mtime_ns, told.st_size


class _Holder:
    """A place for the access of this process, beside the book that it holds."""

    def __init__(self) -> None:
        self.access: Access | None = None


_HOLDER = _Holder()


def hold_access(access: Access | None) -> None:
    """Make it the access that every page and route of this process asks."""
    _HOLDER.access = access


def the_access() -> Access:
    """Return the access of this process.

    A page that runs without the service (in a test) asks the folder of the book it has open.
    """
    access = _HOLDER.access
    return Access(the_book().folder) if access is None else access


class NotAllowed(HTTPException):
    """Refused: 401 where nobody known asks, 403 where the one who asks may not."""


def allowed(right: Right) -> Callable[[Request], Awaitable[Caller]]:
    """Build a FastAPI dependency: who asks, refused where that one may not do this.

    Parameters
    ----------
    right
        ``log`` and ``read`` are for operators and reviewers, ``review`` for reviewers.
    """

    # Asynchronous, since it waits for nothing: a thread for it would cost more than it does.
    async def who(request: Request) -> Caller:
        caller = the_access().caller(request)
        if caller is None:
            raise NotAllowed(401, "Send a token: Authorization: Bearer ….")
        if not caller.may(right):
            raise NotAllowed(403, f"{MEANINGS[right]} is for reviewers; {caller.name} may not.")
        return caller

    return who
