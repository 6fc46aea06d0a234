"""Which names and pages a request may come by: the service's own, and no other site's."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from ipaddress import ip_address
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send
from starlette.websockets import WebSocketClose

from logbook.service.access.guard import refusal

LOOPBACK_HOSTS: tuple[str, ...] = ("127.0.0.1", "localhost")
ALL_ADDRESSES = "0.0.0.0"
"""Listened on, it stands for every address of this machine."""


@dataclass(frozen=True, slots=True)
class Reach:
    """Where the service listens, and what it is called."""

    host: str
    names: tuple[str, ...] = ()
    """More names under which browsers ask for it."""
    proxies: tuple[str, ...] = ()
    """Addresses of reverse proxies that pass requests on."""

    @property
    def by_others(self) -> bool:
        """Whether other machines can reach it."""
        return self.host not in LOOPBACK_HOSTS or bool(self.names or self.proxies)

    @property
    def from_here(self) -> str:
        """The address by which this machine reaches it."""
        return LOOPBACK_HOSTS[0] if self.host == ALL_ADDRESSES else self.host

    def knows(self, host: str) -> bool:
        """Whether a request's ``Host`` names this service.

        A foreign name that leads here is how another site's page would read answers as its own
        (DNS rebinding). An address cannot be led astray, so any will do where all are listened on.
        """
        try:
            parts = urlsplit(f"//{host}")
            name = (parts.hostname or "").rstrip(".")
            is_plain = parts.netloc == host and parts.port != 0 and "@" not in host
        except ValueError:
            return False
        known = {each.lower() for each in (*LOOPBACK_HOSTS, self.host, *self.names)}
        listens_on_it = self.host == ALL_ADDRESSES and _is_address(name)
        return is_plain and (name in known or listens_on_it)


class KnownHostsOnly:
    """Turn away requests for a host that this service is not."""

    def __init__(self, app: ASGIApp, reach: Reach) -> None:
        self.app = app
        self._knows = lru_cache(maxsize=64)(reach.knows)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] not in ("http", "websocket") or self._knows(
            Headers(scope=scope).get("host", "")
        ):
            await self.app(scope, receive, send)
        else:
            words = "This service does not go by that name. Start it with --name, and the name."
            await _refuse(scope, receive, send, 400, words)


class OwnOriginOnly:
    """Turn away requests that a page of some other site makes a browser send here.

    Another program's page on this machine is another site too: its port differs.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] not in ("http", "websocket") or self._is_own(Headers(scope=scope)):
            await self.app(scope, receive, send)
        else:
            words = "Requests from other sites are refused."
            await _refuse(scope, receive, send, 403, words)

    @staticmethod
    def _is_own(headers: Headers) -> bool:
        origins = {_netloc(each) for each in headers.getlist("origin")}
        return not origins or origins <= {each.lower() for each in headers.getlist("host")}


async def _refuse(scope: Scope, receive: Receive, send: Send, status: int, words: str) -> None:
    if scope["type"] == "websocket":
        await WebSocketClose(code=1008)(scope, receive, send)
    else:
        await refusal(scope["path"], status, words)(scope, receive, send)


def _netloc(origin: str) -> str | None:
    try:
        parts = urlsplit(origin)
    except ValueError:
        return None
    return parts.netloc.lower() if parts.scheme in ("http", "https") else None


def _is_address(name: str) -> bool:
    try:
        ip_address(name)
    except ValueError:
        return False
    return True
