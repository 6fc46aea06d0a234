"""The page for the passcode: works without scripts, slows guessing, leads nowhere else."""

from __future__ import annotations

import logging
import re

import pytest
from guarded_app import PASSCODES, browser, signed_in

from logbook.service.access.attempts import Attempts
from logbook.service.access.credentials import Role
from logbook.service.access.rights import Access
from logbook.service.access.sessions import SESSION_SECONDS
from logbook.service.access.sign_in import own_place

WRONG = "not the passcode"


def test_the_page_says_what_to_do_and_needs_nothing_from_outside(access: Access) -> None:
    page = browser(access).get("/sign-in").text
    assert "Type the passcode" in page
    assert "ask whoever keeps the logbook" in page
    assert "<script" not in page
    assert re.findall(r"(?:src|href|action)=\"([^\"]*)\"", page) == ["data:,", "/sign-in"]
    assert "url(" not in page


@pytest.mark.parametrize("scheme", ["http", "https"])
def test_the_cookie_is_kept_from_scripts_and_other_sites(access: Access, scheme: str) -> None:
    client = browser(access)
    client.base_url = f"{scheme}://127.0.0.1:8750"
    answer = client.post("/sign-in", data={"passcode": PASSCODES["operator"], "next": "/review"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/review")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "path=/;" in cookie
    assert f"max-age={SESSION_SECONDS}" in cookie
    assert ("; secure" in cookie) is (scheme == "https")


def test_wrong_passcodes_are_slowed_and_the_right_one_waits_too(access: Access) -> None:
    # A clock that stands still: hashing three passcodes may take longer than the wait.
    client = browser(access, Attempts(lambda: 1000.0))
    for _ in range(3):
        answer = client.post("/sign-in", data={"passcode": WRONG})
        assert answer.status_code == 401
        assert "not a passcode of this book" in answer.text
        assert "set-cookie" not in answer.headers
    for words in (WRONG, PASSCODES["reviewer"]):
        slowed = client.post("/sign-in", data={"passcode": words})
        assert slowed.status_code == 429
        assert slowed.headers["retry-after"] == "1"
        assert "Wait 1 second" in slowed.text
        assert "set-cookie" not in slowed.headers


def test_signing_out_ends_the_session_for_good(access: Access) -> None:
    client = signed_in(browser(access), "operator")
    kept = dict(client.cookies)
    assert "operators’ passcode" in client.get("/sign-in").text
    assert client.post("/sign-out").headers["location"] == "/sign-in"
    thief = browser(access)
    thief.cookies.update(kept)
    assert thief.get("/page").status_code == 401


def test_signing_in_anew_ends_the_session_before(access: Access) -> None:
    client = signed_in(browser(access), "operator")
    old = browser(access)
    old.cookies.update(dict(client.cookies))
    signed_in(client, "reviewer")
    assert client.delete("/api/review").status_code == 200
    assert old.get("/page").status_code == 401


@pytest.mark.parametrize(
    "told",
    [
        None,
        "",
        "review",
        "//elsewhere.example",
        "///elsewhere.example",
        "/\\elsewhere.example",
        "https://elsewhere.example",
        "javascript:alert(1)",
        "/\t/elsewhere.example",
        "/review\r\nSet-Cookie: x",
        "/sign-in",
        "/sign-out",
        "/sign-in?next=/review",
    ],
)
def test_nobody_is_led_elsewhere_after_signing_in(told: str | None) -> None:
    assert own_place(told) == "/"


@pytest.mark.parametrize("told", ["/", "/review", "/review?week=2026-W40", "/suppliers?reference="])
def test_the_place_that_was_asked_for_comes_next(told: str) -> None:
    assert own_place(told) == told


def test_what_is_typed_is_never_part_of_the_page(access: Access) -> None:
    client = browser(access)
    for typed in ('"><script>alert(1)</script>', "<b>", WRONG):
        assert typed not in client.post("/sign-in", data={"passcode": typed}).text
    page = client.get("/sign-in", params={"next": '/"><script>alert(1)</script>'}).text
    assert "<script" not in page


def test_anything_but_the_form_is_refused(access: Access) -> None:
    client = browser(access)
    assert client.post("/sign-in", json={"passcode": PASSCODES["operator"]}).status_code == 415
    form = {"Content-Type": "application/x-www-form-urlencoded"}
    assert client.post("/sign-in", content="a=1&" * 50, headers=form).status_code == 400
    assert client.post("/sign-in", content=b"\xff\xfe=\x00", headers=form).status_code == 401


def test_no_secret_reaches_the_log(
    access: Access, tokens: dict[Role, str], caplog: pytest.LogCaptureFixture
) -> None:
    room = logging.getLogger("logbook.service")
    room.propagate = True
    with caplog.at_level(logging.DEBUG):
        client = browser(access)
        client.post("/sign-in", data={"passcode": WRONG})
        signed_in(client, "reviewer")
        client.get("/api/read", headers={"Authorization": f"Bearer {tokens['operator']}"})
        client.post("/sign-out")
    told = "\n".join(f"{each.getMessage()} {each.__dict__}" for each in caplog.records)
    assert "a wrong passcode" in told
    assert "signed in" in told
    for secret in (WRONG, *PASSCODES.values(), *tokens.values()):
        assert secret not in told
