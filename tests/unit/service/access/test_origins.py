from __future__ import annotations

import asyncio
import json
from collections.abc import MutableMapping
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from starlette.types import ASGIApp, Receive, Scope, Send

from logbook.service.access.origins import KnownHostsOnly, OwnOriginOnly, Reach

HERE = "127.0.0.1:8750"


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.20", "shop.example"])
def test_an_address_that_others_reach_is_told_from_this_machines_own(host: str) -> None:
    assert Reach(host).by_others
    assert not Reach("127.0.0.1").by_others
    assert Reach("127.0.0.1", names=("logbook.example",)).by_others
    assert Reach("127.0.0.1", proxies=("127.0.0.1",)).by_others


@pytest.mark.parametrize(
    ("reach", "host", "known"),
    [
        (Reach("127.0.0.1"), "127.0.0.1:8750", True),
        (Reach("127.0.0.1"), "localhost", True),
        (Reach("127.0.0.1"), "192.168.1.20:8750", False),
        (Reach("127.0.0.1"), "shop.example", False),
        (Reach("127.0.0.1"), "127.0.0.1.shop.example", False),
        (Reach("127.0.0.1"), "", False),
        (Reach("127.0.0.1"), "127.0.0.1:port", False),
        (Reach("127.0.0.1"), "user@127.0.0.1", False),
        (Reach("127.0.0.1"), "127.0.0.1/elsewhere", False),
        (Reach("0.0.0.0"), "192.168.1.20:8750", True),
        (Reach("0.0.0.0"), "shop.example", False),
        (Reach("0.0.0.0", names=("Shop.example",)), "shop.example:8750", True),
        (Reach("192.168.1.20"), "192.168.1.20:8750", True),
        (Reach("192.168.1.20"), "192.168.1.21:8750", False),
    ],
)
def test_only_its_own_names_lead_to_it(reach: Reach, host: str, known: bool) -> None:
    assert reach.knows(host) is known


def _answer(
    middleware: Any, kind: str, *, host: str = HERE, origin: str | None = None, path: str = "/"
) -> list[dict[str, Any]]:
    """What a middleware sends for one request; "passed" where it lets the request in."""
    sent: list[dict[str, Any]] = []

    async def inside(scope: Scope, receive: Receive, send: Send) -> None:
        await send({"type": "passed"})

    async def receive() -> dict[str, Any]:
        return {"type": f"{kind}.connect"}

    async def send(message: MutableMapping[str, Any]) -> None:
        sent.append(dict(message))

    headers = [(b"host", host.encode())]
    headers += [] if origin is None else [(b"origin", origin.encode())]
    scope = {"type": kind, "method": "GET", "path": path, "headers": headers}
    # On a thread of its own: a browser driven by the same worker has a loop running in this one.
    with ThreadPoolExecutor(1) as thread:
        thread.submit(lambda: asyncio.run(middleware(inside)(scope, receive, send))).result()
    return sent


def _by_name(inside: ASGIApp) -> KnownHostsOnly:
    return KnownHostsOnly(inside, Reach("127.0.0.1"))


def _media_type(start: dict[str, Any]) -> str:
    return str(dict(start["headers"])[b"content-type"].decode().partition(";")[0])


def _assert_refused(middleware: Any, status: int, **request: str) -> None:
    start, body = _answer(middleware, "http", **request)
    assert (start["status"], _media_type(start)) == (status, "text/plain")
    start, told = _answer(middleware, "http", path="/api/runs/Ü 1", **request)
    assert (start["status"], _media_type(start)) == (status, "application/problem+json")
    problem = json.loads(told["body"])
    assert (problem["status"], problem["detail"]) == (status, body["body"].decode())
    assert (problem["instance"], problem["reasons"]) == ("/api/runs/%C3%9C%201", [])
    assert problem["hint"]
    (closed,) = _answer(middleware, "websocket", **request)
    assert (closed["type"], closed["code"]) == ("websocket.close", 1008)


@pytest.mark.parametrize("kind", ["http", "websocket"])
@pytest.mark.parametrize("origin", [None, f"http://{HERE}", f"https://{HERE}"])
def test_requests_of_our_own_pages_pass(kind: str, origin: str | None) -> None:
    assert _answer(OwnOriginOnly, kind, origin=origin) == [{"type": "passed"}]
    assert _answer(_by_name, kind, origin=origin) == [{"type": "passed"}]


@pytest.mark.parametrize(
    "origin",
    [
        "https://elsewhere.example",
        "null",
        "http://127.0.0.1.example:8750",
        "http://127.0.0.1:3000",
        "http://localhost:8750",
        "file://127.0.0.1:8750",
        "http://[broken",
        "",
    ],
)
def test_other_sites_cannot_make_a_browser_ask_here(origin: str) -> None:
    _assert_refused(OwnOriginOnly, 403, origin=origin)


def test_a_foreign_name_that_leads_here_is_refused() -> None:
    _assert_refused(_by_name, 400, host="rebound.example:8750")
