"""Nothing but a cookie or token that the service made lets anybody in."""

from __future__ import annotations

import asyncio
import secrets
import time
from collections.abc import MutableMapping
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from starlette.types import Receive, Scope, Send

from logbook.service.access.credentials import (
    Credentials,
    Passcode,
    new_credentials,
    write_credentials,
)
from logbook.service.access.guard import Guarded
from logbook.service.access.rights import Access
from logbook.service.access.sessions import (
    SESSION_SECONDS,
    begin_session,
    cookie_name,
    cookie_of,
    session_in,
)
from logbook.service.access.tokens import with_token

NOW = 1_790_000_000.0
PASSCODE = Passcode("00", "00", 32768, 8, 1, "mark", "2026-10-05")
FEW = settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])


def _credentials() -> Credentials:
    return Credentials(secrets.token_hex(32), {"operator": PASSCODE, "reviewer": PASSCODE})


RIGHTS = _credentials()
COOKIE = cookie_of(RIGHTS, begin_session(RIGHTS, "operator", now=NOW))
TEXT = st.text(max_size=120)
HEADER = st.text(st.characters(min_codepoint=33, max_codepoint=126), max_size=60)


def test_a_session_is_read_as_it_was_begun() -> None:
    session = session_in(RIGHTS, COOKIE, now=NOW + SESSION_SECONDS - 1)
    assert session is not None
    assert session.role == "operator"
    assert session_in(RIGHTS, COOKIE, now=NOW + SESSION_SECONDS) is None
    assert session_in(_credentials(), COOKIE, now=NOW) is None


@FEW
@given(TEXT)
def test_no_text_whatever_is_a_session(cookie: str) -> None:
    assert session_in(RIGHTS, cookie, now=NOW) is None


@FEW
@given(st.integers(0, len(COOKIE) - 1), st.characters())
def test_no_changed_sign_goes_unseen(place: int, sign: str) -> None:
    changed = COOKIE[:place] + sign + COOKIE[place + 1 :]
    assume(changed != COOKIE)
    assert session_in(RIGHTS, changed, now=NOW) is None


@FEW
@given(st.integers(0, len(COOKIE) - 1))
def test_no_part_of_a_session_is_one(length: int) -> None:
    assert session_in(RIGHTS, COOKIE[:length], now=NOW) is None
    assert session_in(RIGHTS, COOKIE[length + 1 :], now=NOW) is None
    assert session_in(RIGHTS, COOKIE[: length + 1] + COOKIE, now=NOW) is None


@pytest.fixture(scope="module")
def access(tmp_path_factory: pytest.TempPathFactory) -> Access:
    folder = tmp_path_factory.mktemp("book")
    credentials, _ = with_token(RIGHTS, "counter", "operator")
    write_credentials(folder, credentials)
    return Access(folder, reached_by_others=True)


def _reaches_inside(access: Access, scope: dict[str, Any]) -> bool:
    """Whether a request gets past the guard."""
    inside: list[str] = []

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        inside.append(scope["type"])

    async def receive() -> dict[str, Any]:
        return {"type": f"{scope['type']}.connect"}

    async def send(message: MutableMapping[str, Any]) -> None:
        assert inside == []

    whole = {"method": "GET", "query_string": b"", "extensions": {}, **scope}
    # On a thread of its own: a browser driven by the same worker has a loop running in this one.
    with ThreadPoolExecutor(1) as thread:
        thread.submit(lambda: asyncio.run(Guarded(app, access)(whole, receive, send))).result()
    return bool(inside)


NAMES = st.one_of(
    HEADER,
    st.sampled_from(
        ["x-logbook-role", "x-forwarded-user", "remote-user", "x-user", "cookie", "authorization"]
    ),
)
VALUES = st.one_of(
    HEADER,
    st.sampled_from(["reviewer", "operator", "Bearer ", "Bearer logbook_", "Bearer reviewer"]),
    HEADER.map(lambda value: f"{cookie_name(RIGHTS)}={value}"),
    HEADER.map(lambda value: f"Bearer logbook_{value}"),
)
KINDS = st.sampled_from(["http", "websocket"])
PATHS = st.sampled_from(["/", "/review", "/api/runs", "/api/", "/_stcore/stream", "//sign-in"])


@FEW
@given(
    st.lists(st.tuples(NAMES, VALUES), max_size=4), PATHS, st.sampled_from(["http", "websocket"])
)
def test_no_header_lets_anybody_in(
    access: Access, headers: list[tuple[str, str]], path: str, kind: str
) -> None:
    raw = [(name.lower().encode(), value.encode()) for name, value in headers]
    assert not _reaches_inside(access, {"type": kind, "path": path, "headers": raw})


def test_the_guard_lets_in_what_the_service_made(access: Access) -> None:
    """Otherwise the tests above could pass by refusing everyone."""
    cookie = cookie_of(RIGHTS, begin_session(RIGHTS, "operator", now=time.time()))
    headers = [(b"cookie", f"other=1; {cookie_name(RIGHTS)}={cookie}".encode())]
    for kind in ("http", "websocket"):
        assert _reaches_inside(access, {"type": kind, "path": "/", "headers": headers})


def test_a_key_is_never_made_twice() -> None:
    assert new_credentials().key != new_credentials().key
