"""Who may come in: this machine's own browsers, until there are logins."""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send
from starlette.websockets import WebSocketClose

from logbook.errors import ServiceError

LOOPBACK_HOSTS: tuple[str, ...] = ("127.0.0.1", "localhost")


def only_this_machine(host: str) -> str:
    """Return the address to listen on, or refuse one that other machines can reach.

    Raises
    ------
    ServiceError
        The address is not this machine's own.
    """
    if host in LOOPBACK_HOSTS:
        return host
    raise ServiceError(
        f"The pages have no logins yet, so they are not served on {host}, where other machines "
        "could read and change the book.",
        "leave --host out, and open them in a browser on this machine",
    )


class OwnOriginOnly:
    """Turn away requests that a page of some other site makes a browser send here."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] not in ("http", "websocket") or self._is_own(Headers(scope=scope)):
            await self.app(scope, receive, send)
        elif scope["type"] == "websocket":
            await WebSocketClose(code=1008)(scope, receive, send)
        else:
            refusal = PlainTextResponse("Requests from other sites are refused.", status_code=403)
            await refusal(scope, receive, send)

    @staticmethod
    def _is_own(headers: Headers) -> bool:
        origin = headers.get("origin")
        return origin is None or urlsplit(origin).hostname in LOOPBACK_HOSTS
