"""Who may do what, through the real guard."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from api_client import is_problem
from guarded_app import LINE, PAGE, TestClient, browser, signed_in
from starlette.websockets import WebSocketDisconnect

from logbook.errors import ServiceError
from logbook.service.access.credentials import (
    FILE_NAME,
    Credentials,
    Role,
    new_credentials,
    read_credentials,
    write_credentials,
)
from logbook.service.access.passcodes import with_passcode
from logbook.service.access.rights import Access
from logbook.service.access.tokens import with_token, without_token
from logbook.service.state import set_access

ASKED = (("POST", "/api/log"), ("GET", "/api/read"), ("DELETE", "/api/review"))
MAY: dict[Role | None, list[int]] = {
    None: [401, 401, 401],
    "operator": [200, 200, 403],
    "reviewer": [200, 200, 200],
}


def _statuses(client: TestClient, **headers: str) -> list[int]:
    return [client.request(how, path, headers=headers).status_code for how, path in ASKED]


def _bearer(token: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {token}"}


def _is_refusal(answer: Any, status: int, says: str) -> dict[str, Any]:
    """Check that it is told to a program, with what to do about it; what it says."""
    told = is_problem(answer, status)
    assert says in told["detail"]
    assert told["hint"]
    assert told["reasons"] == []
    return told


def _plain(answer: Any) -> tuple[int, str]:
    assert answer.headers["content-type"].partition(";")[0] == "text/plain"
    return answer.status_code, answer.text


@pytest.mark.parametrize("role", ["operator", "reviewer"])
def test_a_token_may_what_its_role_may(access: Access, tokens: dict[Role, str], role: Role) -> None:
    client = browser(access)
    assert _statuses(client, **_bearer(tokens[role])) == MAY[role]
    assert client.get("/api/read", headers=_bearer(tokens[role])).json() == f"{role}-token"
    # A token is for programs: it opens no page.
    assert client.get("/page", headers=_bearer(tokens[role])).status_code == 401


@pytest.mark.parametrize("role", ["operator", "reviewer"])
def test_a_session_may_what_its_role_may(access: Access, role: Role) -> None:
    client = signed_in(browser(access), role)
    assert _statuses(client) == MAY[role]
    assert client.get("/page", headers=PAGE).json() == "the record"


def test_strangers_get_problem_details_a_way_to_sign_in_or_nothing(access: Access) -> None:
    client = browser(access)
    assert _statuses(client) == MAY[None]
    answer = client.get("/api/read")
    _is_refusal(answer, 401, "Send a token")
    assert answer.headers["www-authenticate"] == "Bearer"
    sent_on = client.get("/page?week=2026-W40", headers=PAGE)
    assert (sent_on.status_code, sent_on.headers["location"]) == (
        303,
        "/sign-in?next=/page%3Fweek%3D2026-W40",
    )
    assert _plain(client.get("/page")) == (401, "Sign in first.")
    assert _plain(client.post("/page", headers=PAGE)) == (401, "Sign in first.")
    with pytest.raises(WebSocketDisconnect) as closed, client.websocket_connect(LINE):
        pass
    assert closed.value.code == 1008


def test_a_refusal_says_who_may(access: Access, tokens: dict[Role, str]) -> None:
    answer = browser(access).delete("/api/review", headers=_bearer(tokens["operator"]))
    told = _is_refusal(answer, 403, "is for reviewers; operator-token may not")
    assert (told["title"], told["instance"]) == ("Forbidden", "/api/review")


def test_a_wrong_token_beside_a_good_session_is_refused(access: Access) -> None:
    client = signed_in(browser(access), "reviewer")
    assert _statuses(client, **_bearer("logbook_wrong")) == MAY[None]
    assert _statuses(client, Authorization="Basic abc") == MAY[None]


def test_on_this_computer_everyone_is_a_reviewer_until_something_is_set(
    tmp_path: Path, both: Credentials
) -> None:
    access = Access(tmp_path)
    set_access(access)
    try:
        client = browser(access)
        assert _statuses(client) == MAY["reviewer"]
        assert client.get("/sign-in").headers["location"] == "/"
        credentials, token = with_token(new_credentials(), "counter", "operator")
        write_credentials(tmp_path, credentials)
        assert _statuses(client) == MAY[None]
        assert _statuses(client, **_bearer(token)) == MAY["operator"]
        assert client.get("/page").status_code == 200  # people are not asked for tokens
        write_credentials(tmp_path, both)
        assert client.get("/page").status_code == 401
    finally:
        set_access(None)


def test_reached_by_others_nobody_is_let_in_unasked(tmp_path: Path) -> None:
    access = Access(tmp_path, reached_by_others=True)
    with pytest.raises(ServiceError, match="operators and reviewers") as missing:
        access.demand_passcodes()
    assert "logbook passcode operator" in (missing.value.hint or "")
    write_credentials(tmp_path, with_passcode(new_credentials(), "operator", "needle hoop towel"))
    with pytest.raises(ServiceError, match="for reviewers"):
        access.demand_passcodes()
    (tmp_path / FILE_NAME).unlink()  # taken away while it is served
    set_access(access)
    try:
        client = browser(access)
        assert _statuses(client) == MAY[None]
        assert client.get("/page").status_code == 401
    finally:
        set_access(None)


def test_a_spoilt_file_lets_nobody_in(access: Access, tmp_path: Path) -> None:
    client = signed_in(browser(access), "reviewer")
    (tmp_path / FILE_NAME).write_text("{", encoding="utf-8")
    status, words = _plain(client.get("/page"))
    assert (status, "cannot be read" in words) == (503, True)
    assert _statuses(client) == [503, 503, 503]
    told = is_problem(client.get("/api/read"), 503, "book-closed")
    assert told["detail"] in words
    assert told["hint"]


def test_a_changed_passcode_ends_its_sessions_and_no_others(access: Access, tmp_path: Path) -> None:
    operator = signed_in(browser(access), "operator")
    reviewer = signed_in(browser(access), "reviewer")
    kept = read_credentials(tmp_path)
    assert kept is not None
    write_credentials(tmp_path, with_passcode(kept, "operator", "another set of words"))
    assert operator.get("/page").status_code == 401
    assert reviewer.get("/page").status_code == 200


def test_a_removed_token_is_refused_at_once(
    access: Access, tokens: dict[Role, str], tmp_path: Path
) -> None:
    client = browser(access)
    assert client.get("/api/read", headers=_bearer(tokens["operator"])).status_code == 200
    kept = read_credentials(tmp_path)
    assert kept is not None
    write_credentials(tmp_path, without_token(kept, "operator-token"))
    assert client.get("/api/read", headers=_bearer(tokens["operator"])).status_code == 401
    assert client.get("/api/read", headers=_bearer(tokens["reviewer"])).status_code == 200


def test_an_open_line_is_cut_when_its_session_ends(access: Access) -> None:
    client = signed_in(browser(access), "operator")
    with client.websocket_connect(LINE) as line:
        line.send_text("first")
        assert line.receive_text() == "first"
        assert client.post("/sign-out").status_code == 303
        line.send_text("second")
        with pytest.raises(WebSocketDisconnect) as cut:
            line.receive_text()
        assert cut.value.code == 1008


def test_other_sites_cannot_use_a_session(access: Access) -> None:
    client = signed_in(browser(access), "reviewer")
    for headers in ({"Origin": "https://elsewhere.example"}, {"Origin": "null"}):
        _is_refusal(client.delete("/api/review", headers=headers), 403, "other sites")
        assert _plain(client.get("/page", headers=headers))[0] == 403
        with pytest.raises(WebSocketDisconnect), client.websocket_connect(LINE, headers=headers):
            pass
    assert client.delete("/api/review", headers={"Origin": "http://127.0.0.1:8750"}).is_success


@pytest.mark.parametrize("path", ["/api/size", "/sign-in"])
def test_what_is_too_large_is_turned_away(
    access: Access, tokens: dict[Role, str], path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("logbook.service.access.guard.API_BYTES", 4096)
    client, form = browser(access), {"Content-Type": "application/x-www-form-urlencoded"}
    headers: Any = {**_bearer(tokens["operator"]), **form}
    parts = (b"x" * 1000 for _ in range(5))  # sent without telling its size
    for content in (b"x" * 4097, parts):
        answer = client.post(path, content=content, headers=headers)
        if path == "/sign-in":
            assert _plain(answer) == (413, "At most 4,096 bytes.")
        else:
            _is_refusal(answer, 413, "At most 4,096 bytes.")
    assert client.post(path, content=b"x" * 4096, headers=headers).status_code in (200, 401)


def test_every_answer_says_what_a_page_may_load(access: Access) -> None:
    client = browser(access)
    for path in ("/sign-in", "/api/read", "/page"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'self'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "unsafe-eval" not in policy
        assert "script-src 'self' blob: 'sha256-" in policy
        assert "script-src 'self' 'unsafe-inline'" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
