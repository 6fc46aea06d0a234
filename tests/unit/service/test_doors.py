from __future__ import annotations

import asyncio
from collections.abc import MutableMapping
from typing import Any

import pytest
from starlette.types import Receive, Scope, Send

from logbook.errors import ServiceError
from logbook.service.doors import OwnOriginOnly, only_this_machine


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.20", "::", "shop.example"])
def test_an_address_that_others_reach_is_refused_with_the_reason(host: str) -> None:
    with pytest.raises(ServiceError, match="no logins yet") as caught:
        only_this_machine(host)
    assert host in caught.value.message
    assert caught.value.hint


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost"])
def test_this_machines_own_address_is_served(host: str) -> None:
    assert only_this_machine(host) == host


def _answer(kind: str, origin: str | None) -> list[dict[str, Any]]:
    """What the door sends for one request; "passed" where it lets the request in."""
    sent: list[dict[str, Any]] = []

    async def inside(scope: Scope, receive: Receive, send: Send) -> None:
        await send({"type": "passed"})

    async def receive() -> dict[str, Any]:
        return {"type": f"{kind}.connect"}

    async def send(message: MutableMapping[str, Any]) -> None:
        sent.append(dict(message))

    headers = [] if origin is None else [(b"origin", origin.encode())]
    scope = {"type": kind, "method": "GET", "path": "/", "headers": headers}
    asyncio.run(OwnOriginOnly(inside)(scope, receive, send))
    return sent


@pytest.mark.parametrize("kind", ["http", "websocket"])
@pytest.mark.parametrize("origin", [None, "http://127.0.0.1:8750", "http://localhost:8750"])
def test_requests_of_our_own_pages_pass(kind: str, origin: str | None) -> None:
    assert _answer(kind, origin) == [{"type": "passed"}]


@pytest.mark.parametrize(
    "origin", ["https://elsewhere.example", "null", "http://127.0.0.1.example"]
)
def test_other_sites_cannot_make_a_browser_ask_here(origin: str) -> None:
    assert _answer("http", origin)[0]["status"] == 403
    assert _answer("websocket", origin)[0] == {
        "type": "websocket.close",
        "code": 1008,
        "reason": "",
    }
