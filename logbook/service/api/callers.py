"""Who may use which routes: the one place where the API asks for rights."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends

from logbook.service.access import ANYONE_HERE, Caller, allowed

MAY_READ = Depends(allowed("read"))
may_log = allowed("log")
MAY_LOG = Depends(may_log)
MAY_REVIEW = Depends(allowed("review"))

WhoLogs = Annotated[Caller, MAY_LOG]
WhoReviews = Annotated[Caller, MAY_REVIEW]


def source_of(caller: Caller) -> str:
    """What the history of a run says of where a version came from."""
    return "api" if caller == ANYONE_HERE else f"api, {caller.name}"
