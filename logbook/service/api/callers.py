"""Who may use which routes: the one place where the API asks for rights."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Annotated

from fastapi import Depends, Request

from logbook.service.access.rights import ANYONE_HERE, MEANINGS, Caller, NotAllowed, Right
from logbook.service.state import the_access


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


MAY_READ = Depends(allowed("read"))
may_log = allowed("log")
MAY_LOG = Depends(may_log)
MAY_REVIEW = Depends(allowed("review"))

WhoLogs = Annotated[Caller, MAY_LOG]
WhoReviews = Annotated[Caller, MAY_REVIEW]


def source_of(caller: Caller) -> str:
    """What the history of a run says of where a version came from."""
    return "api" if caller == ANYONE_HERE else f"api, {caller.name}"
