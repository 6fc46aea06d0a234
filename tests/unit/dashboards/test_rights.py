"""What a page asks about the one who looks at it."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from logbook.service.access.credentials import Passcode, Role, new_credentials, write_credentials
from logbook.service.access.rights import Access
from logbook.service.access.sessions import begin_session, cookie_name, cookie_of
from logbook.service.state import set_access
from logbook.store.duckdb_store import DuckStore

KEPT = Passcode("00", "00", 32768, 8, 1, "mark", "2026-10-05")


@pytest.fixture
def access(with_one_run: DuckStore) -> Iterator[Access]:
    """Of a book with both passcodes, as the service holds it."""
    credentials = new_credentials()
    roles: dict[Role, Passcode] = {"operator": KEPT, "reviewer": KEPT}
    write_credentials(with_one_run.folder, type(credentials)(credentials.key, roles))
    access = Access(with_one_run.folder)
    set_access(access)
    yield access
    set_access(None)


def _browser_of(access: Access, role: Role | None, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let pages see the cookies of a browser, as they do over a real connection."""
    credentials, cookies = access.credentials(), {"other": "1"}
    if role is not None:
        session = begin_session(credentials, role, now=time.time())
        cookies[cookie_name(credentials)] = cookie_of(credentials, session)

    class Cookies:
        def to_dict(self) -> dict[str, str]:
            return cookies

    monkeypatch.setattr(type(st.context), "cookies", property(lambda _: Cookies()))


def _words(app: AppTest) -> str:
    html = [each.body for each in app.get("html") if not each.body.startswith("<style>")]
    return "\n".join([*(each.value for each in app.info), *html])


def test_without_a_session_nothing_is_drawn(
    access: Access, app: AppTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    _browser_of(access, None, monkeypatch)
    app.run()
    assert not app.exception
    assert "not signed in any more" in _words(app)
    assert not app.number_input
    assert "M1" not in _words(app)


@pytest.mark.parametrize("role", ["operator", "reviewer"])
def test_who_is_signed_in_is_named_with_the_way_out(
    access: Access, app: AppTest, monkeypatch: pytest.MonkeyPatch, role: Role
) -> None:
    _browser_of(access, role, monkeypatch)
    app.run()
    assert not app.exception
    assert f"Signed in as {role} · sign out" in _words(app)
    assert app.number_input


def test_where_nobody_has_to_sign_in_nothing_is_said_of_it(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    assert "sign" not in _words(app)
    assert app.number_input


@pytest.mark.parametrize(("role", "may"), [("operator", False), ("reviewer", True), (None, False)])
def test_an_action_for_reviewers_says_who_may(
    access: Access, monkeypatch: pytest.MonkeyPatch, role: Role | None, may: bool
) -> None:
    def page() -> None:
        import streamlit

        from dashboards.shared import for_reviewers

        if for_reviewers("Correcting a run"):
            streamlit.write("the form")

    _browser_of(access, role, monkeypatch)
    app: Any = AppTest.from_function(page).run()
    assert [each.value for each in app.markdown] == (["the form"] if may else [])
    assert ("Correcting a run is for reviewers" in _words(app)) is not may
