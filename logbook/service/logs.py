"""What the service says of itself on standard error: plain lines, or one JSON object a line.

Only paths are told, never what follows a question mark, and neither cookies, tokens nor bodies.
"""

from __future__ import annotations

import json
import logging
import sys
import time
from collections.abc import MutableMapping
from datetime import UTC, datetime
from typing import Any, Literal

from starlette.types import ASGIApp, Receive, Scope, Send

Style = Literal["plain", "json"]
ROOM = "logbook.service"
LOG = logging.getLogger(ROOM)
OTHERS: tuple[str, ...] = ("uvicorn", "streamlit")
FIELDS: tuple[str, ...] = ("address", "role", "method", "path", "status", "milliseconds")
"""What a line may carry besides its words; anything else is left out."""


class JsonLines(logging.Formatter):
    """One JSON object a line."""

    def format(self, record: logging.LogRecord) -> str:
        """Write a record."""
        line: dict[str, Any] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "says": record.getMessage(),
            "from": record.name,
        }
        line |= {name: record.__dict__[name] for name in FIELDS if name in record.__dict__}
        if record.exc_info:
            line["trace"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=False)


class PlainLines(logging.Formatter):
    """A line for people."""

    def format(self, record: logging.LogRecord) -> str:
        """Write a record."""
        more = " ".join(
            f"{name}={record.__dict__[name]}" for name in FIELDS if name in record.__dict__
        )
        line = f"{record.levelname.lower()}: {record.getMessage()}" + (f" ({more})" if more else "")
        return line + (f"\n{self.formatException(record.exc_info)}" if record.exc_info else "")


def set_up_logging(style: Style) -> None:
    """Set how lines are written from now on; the server and the pages have set up their own."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(JsonLines() if style == "json" else PlainLines())
    LOG.handlers, LOG.propagate = [handler], False
    # In JSON every request has a line; people are told only what stands out.
    LOG.setLevel(logging.INFO if style == "json" else logging.WARNING)
    for name in (*OTHERS, *logging.root.manager.loggerDict):
        if name.partition(".")[0] in OTHERS:
            logger = logging.getLogger(name)
            logger.handlers, logger.propagate = ([handler], False) if name in OTHERS else ([], True)
            logger.setLevel(logging.WARNING if name in OTHERS else logging.NOTSET)


def say_as_line(words: str) -> None:
    """Say what people are told at start and end as a line like the others."""
    LOG.info(words)


class LoggedRequests:
    """Write a line for every request answered."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, and tell how it went."""
        if scope["type"] != "http" or not LOG.isEnabledFor(logging.INFO):
            await self.app(scope, receive, send)
            return
        begun, status = time.perf_counter(), 500

        async def seen(message: MutableMapping[str, Any]) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self.app(scope, receive, seen)
        finally:
            LOG.info(
                "request",
                extra={
                    "address": scope["client"][0] if scope["client"] else None,
                    "method": scope["method"],
                    "path": scope["path"],
                    "status": status,
                    "milliseconds": round(1000 * (time.perf_counter() - begun), 1),
                },
            )
