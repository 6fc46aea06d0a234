"""A name for each device, so that a run half typed on it is found there again.

It is random, says nothing of who uses the device, and gives no rights.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Mapping, MutableMapping
from http.cookies import SimpleCookie
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection
from starlette.types import ASGIApp, Receive, Scope, Send

COOKIE = "logbook_device"
SECONDS_KEPT = 400 * 24 * 3600
"""As long as browsers keep any cookie."""
_NAME = re.compile(r"[0-9a-f]{32}")


def device_named(cookies: Mapping[str, str]) -> str | None:
    """Read a device's name; None where it has none."""
    name = cookies.get(COOKIE, "")
    return name if _NAME.fullmatch(name) else None


class NamedDevices:
    """Give each browser that opens a page a name, and leave it the one that it has."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, and put a name on its answer where one is wanting."""
        if not _opens_a_page(scope) or device_named(HTTPConnection(scope).cookies) is not None:
            await self.app(scope, receive, send)
            return
        cookie = _cookie(secure=scope.get("scheme") == "https")

        async def named(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).append("set-cookie", cookie)
            await send(message)

        await self.app(scope, receive, named)


def _opens_a_page(scope: Scope) -> bool:
    if scope["type"] != "http" or scope["method"] != "GET":
        return False
    return "text/html" in Headers(scope=scope).get("accept", "")


def _cookie(*, secure: bool) -> str:
    cookie: SimpleCookie = SimpleCookie()
    cookie[COOKIE] = secrets.token_hex(16)
    kept = cookie[COOKIE]
    kept["max-age"], kept["path"] = str(SECONDS_KEPT), "/"
    # Lax: a page opened from a link in a message still knows its device.
    kept["samesite"], kept["httponly"], kept["secure"] = "Lax", True, secure
    return kept.OutputString()
