"""Runs over HTTP: logged, read, corrected and taken back, with every refusal told."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from api_client import A_RUN, TestClient, asking, is_problem
from logged_runs import book_of_one, empty_book

from logbook.service import the_book
from logbook.service.api import bodies, log_requests
from logbook.vocabulary import DEFECT_KINDS


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with asking(book_of_one(tmp_path / "book")) as client:
        yield client


def test_one_run_is_logged_and_says_where_it_is(client: TestClient) -> None:
    told = client.post("/api/runs", json={"run_ref": "a/b ü", **A_RUN})
    assert told.status_code == 201
    assert told.json() == {
        "added": 1,
        "skipped": 0,
        "rejected": [],
        "run_refs": ["a/b ü"],
        "held": [],
        "notes": [],
    }
    assert told.headers["location"] == "/api/runs/a%2Fb%20%C3%BC"
    run = client.get(told.headers["location"]).json()
    assert (run["run_ref"], run["puckering"], run["gaps"]) == ("a/b ü", 1, None)
    assert run["finished_at"] == "2026-10-06T09:30:00"
    assert [(each["what"], each["source"]) for each in run["history"]] == [("logged", "api")]


def test_the_same_again_adds_nothing(client: TestClient) -> None:
    first = client.post("/api/runs", json=[A_RUN, A_RUN, {"run_ref": "R-2", **A_RUN}])
    again = client.post("/api/runs", json=[A_RUN, A_RUN, {"run_ref": "R-2", **A_RUN}])
    assert (first.status_code, first.json()["added"]) == (201, 3)
    assert (again.status_code, again.json()["added"], again.json()["skipped"]) == (200, 0, 3)
    assert again.json()["run_refs"] == first.json()["run_refs"]
    assert len(set(first.json()["run_refs"])) == 3
    assert any("reference of its own" in note for note in again.json()["notes"])


def test_every_run_that_is_not_taken_is_told_with_its_place_and_reason(client: TestClient) -> None:
    sent = [
        {**A_RUN, "puckering": 25},
        A_RUN,
        {**A_RUN, "pukering": 1},
        "no run",
        {"run_ref": "R-1", **A_RUN},
        {**A_RUN, "puckering": [1]},
    ]
    told = client.post("/api/runs", json=sent)
    assert told.status_code == 201
    answer = told.json()
    assert answer["added"] == 1
    assert [(each["index"], each["column"]) for each in answer["rejected"]] == [
        (0, "puckering"),
        (2, "pukering"),
        (3, ""),
        (4, "run_ref"),
        (5, "puckering"),
    ]
    assert "only 24 pieces were inspected" in answer["rejected"][0]["reason"]
    assert "did you mean puckering?" in answer["rejected"][1]["reason"]
    assert "PATCH" in answer["rejected"][3]["reason"]
    assert [run_ref is not None for run_ref in answer["run_refs"]] == [
        place == 1 for place in range(6)
    ]
    assert the_book().count() == 2


def test_a_reference_with_other_content_is_a_conflict(client: TestClient) -> None:
    told = client.post("/api/runs", json={"run_ref": "R-1", **A_RUN})
    problem = is_problem(told, 409, "conflict")
    assert problem["rejected"][0]["column"] == "run_ref"
    assert (problem["added"], problem["skipped"]) == (0, 0)
    assert client.get("/api/runs/R-1").json()["hoop_marks"] == 1


def test_where_nothing_can_be_taken_each_reason_is_told(client: TestClient) -> None:
    bad = {"pieces_inspected": 5, "puckering": 6, "backing": "cardboard"}
    problem = is_problem(client.post("/api/runs", json=bad), 422, "not-taken")
    columns = {each["column"] for each in problem["reasons"]}
    assert columns == {"finished_at", "puckering", "backing"}
    assert len(problem["rejected"]) == 1
    assert problem["hint"]
    mixed = [bad, {"run_ref": "R-1", **A_RUN}]
    told = is_problem(client.post("/api/runs", json=mixed), 422, "not-taken")
    assert len(told["rejected"]) == 2


@pytest.mark.parametrize("content", [[], {}, 5, [None], "text", [[A_RUN]], True])
def test_what_is_no_run_is_refused(client: TestClient, content: object) -> None:
    is_problem(client.post("/api/runs", json=content), 422, "not-taken")
    assert the_book().count() == 1


def test_too_many_runs_at_a_time_are_refused(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(log_requests, "MOST_RUNS", 2)
    problem = is_problem(client.post("/api/runs", json=[A_RUN] * 3), 413, "too-large")
    assert "logbook import" in problem["hint"]
    flood = {f"name {number}": number for number in range(500)}
    is_problem(client.post("/api/runs", json=flood), 413, "too-large")
    assert the_book().count() == 1


def test_a_body_that_is_too_large_is_refused(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bodies, "MOST_BYTES", 1000)
    headers = {"content-type": "application/json"}
    long = b'{"notes": "' + b"x" * 1000 + b'"}'
    is_problem(client.post("/api/runs", content=long, headers=headers), 413, "too-large")
    in_parts = (long[start : start + 100] for start in range(0, len(long), 100))
    is_problem(client.post("/api/runs", content=in_parts, headers=headers), 413, "too-large")


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"\xff\xfe",
        b'{"a": NaN}',
        b'{"a": 1, "a": 2}',
        b"[" * 100_000,
        b"9" * 10_000,
        b'{"a": 1} x',
    ],
)
def test_a_body_that_is_no_json_is_refused(client: TestClient, body: bytes) -> None:
    headers = {"content-type": "application/json"}
    is_problem(client.post("/api/runs", content=body, headers=headers), 400, "not-json")


@pytest.mark.parametrize("number", [b"1e999", b"-1e999", b"9" * 400, b"0.1e-999"])
def test_a_number_beyond_all_bounds_is_told(client: TestClient, number: bytes) -> None:
    body = b'{"finished_at": "2026-10-06", "pieces_sewn": 9, "gaps": 0, "speed_spm": %s}' % number
    headers = {"content-type": "application/json"}
    problem = is_problem(client.post("/api/runs", content=body, headers=headers), 422, "not-taken")
    assert [each["column"] for each in problem["reasons"]] == ["speed_spm"]


@pytest.mark.parametrize("media_type", [None, "text/plain", "application/x-www-form-urlencoded"])
def test_a_body_of_another_type_is_refused(client: TestClient, media_type: str | None) -> None:
    headers = {} if media_type is None else {"content-type": media_type}
    told = client.post("/api/runs", content=b"{}", headers=headers)
    assert "application/json" in is_problem(told, 415, "wrong-media-type")["hint"]


def test_a_run_with_missing_needle_parts_is_held(client: TestClient) -> None:
    broken = {"run_ref": "R-9", **A_RUN, "needle_breaks": 1, "needle_parts_found": False}
    assert client.post("/api/runs", json=broken).json()["held"] == ["R-9"]


def test_runs_are_listed_the_last_finished_first(client: TestClient) -> None:
    later = [
        {**A_RUN, "run_ref": f"L-{day}", "finished_at": f"2026-10-{day:02}", "site": "North"}
        for day in range(6, 11)
    ]
    client.post("/api/runs", json=[*later, {**A_RUN, "run_ref": "S", "machine": "M2"}])

    def listed(**asked: object) -> list[str]:
        told = client.get("/api/runs", params=asked)
        assert told.status_code == 200
        return [run["run_ref"] for run in told.json()["runs"]]

    assert listed() == ["L-10", "L-9", "L-8", "L-7", "S", "L-6", "R-1"]
    assert listed(since="2026-10-07", until="2026-10-08") == ["L-8", "L-7"]
    assert listed(site="North", limit=2) == ["L-10", "L-9"]
    assert listed(machine="m2") == ["S"]
    assert listed(site="nowhere") == []
    cut = client.get("/api/runs", params={"limit": 6}).json()
    assert (len(cut["runs"]), cut["more"], len(cut["notes"])) == (6, True, 1)
    whole = client.get("/api/runs", params={"limit": 7}).json()
    assert (len(whole["runs"]), whole["more"], whole["notes"]) == (7, False, [])


def test_runs_are_filtered_by_words_kinds_and_held(client: TestClient) -> None:
    held = {"needle_breaks": 1, "needle_parts_found": False, "backing_lot": "A2431"}
    client.post("/api/runs", json={**A_RUN, "run_ref": "H", **held})

    def listed(**asked: object) -> list[str]:
        told = client.get("/api/runs", params=asked)
        assert told.status_code == 200, told.text
        return [run["run_ref"] for run in told.json()["runs"]]

    assert listed(find="a2431") == listed(held=True) == listed(showing="needle breaks") == ["H"]
    assert listed(backing_lot="a2431", machine=A_RUN["machine"]) == ["H"]
    assert listed(needle_parts_found=False) == ["H"]
    assert listed(speed_band="fast") == []
    for asked, says in (
        ({"backing": "velvet"}, "it can be none, cut_away"),
        ({"speed_band": "quick"}, "it can be slow, steady"),
        ({"needle_nm": "thick"}, "needle_nm is 'thick'"),
        ({"notes": "x"}, "there is no parameter 'notes' here"),
    ):
        problem = is_problem(client.get("/api/runs", params=asked), 422, "not-understood")
        assert says in problem["reasons"][0]["reason"]


def test_a_run_is_corrected_and_its_history_kept(client: TestClient) -> None:
    told = client.patch("/api/runs/R-1", json={"hoop-marks": 2, "Pieces defective": 2, "job": None})
    assert told.status_code == 200, told.text
    run = client.patch("/api/runs/R-1?why=recounted", json={"thread_breaks": 3}).json()
    assert (run["hoop_marks"], run["job"], run["thread_breaks"]) == (2, None, 3)
    assert [(each["what"], each["why"]) for each in run["history"]] == [
        ("logged", None),
        ("amended", None),
        ("amended", "recounted"),
    ]
    assert run["history"][0]["content"]["job"] == "J4628"
    merge = {"content-type": "application/merge-patch+json"}
    body = b'{"thread_breaks": 4, "why": "counted again"}'
    again = client.patch("/api/runs/R-1", content=body, headers=merge).json()
    assert again["history"][-1]["why"] == "counted again"
    assert client.patch("/api/runs/R-1", json={}).json()["history"] == again["history"]


@pytest.mark.parametrize(
    ("changes", "column"),
    [
        ({"hoop_marks": 99}, "hoop_marks"),
        ({"hop_marks": 1}, "hop_marks"),
        ({"run_ref": "R-2"}, "run_ref"),
        ({"finished_at": None}, "finished_at"),
        ({"Gaps": 1, "gaps": 2}, "gaps"),
        ({"why": 5}, "why"),
        ([], ""),
        ("text", ""),
    ],
)
def test_a_correction_that_cannot_be_changes_nothing(
    client: TestClient, changes: object, column: str
) -> None:
    problem = is_problem(client.patch("/api/runs/R-1", json=changes), 422, "not-understood")
    assert column in {each["column"] for each in problem["reasons"]}
    assert len(client.get("/api/runs/R-1").json()["history"]) == 1


def test_the_pieces_with_any_defect_go_along_and_it_is_remarked(client: TestClient) -> None:
    none_seen = {each.name: 0 for each in DEFECT_KINDS if each.measure == "pieces"}
    told = {**none_seen, "hoop_marks": 5, "pieces_defective": 5}
    client.patch("/api/runs/R-1", json=told)
    run = client.patch("/api/runs/R-1", json={"hoop_marks": 2}).json()
    assert (run["hoop_marks"], run["pieces_defective"]) == (2, 2)
    assert run["remarks"] == ["pieces_defective went along: 2 now"]
    assert client.patch("/api/runs/R-1", json={"pieces_defective": 3}).json()["remarks"] == []
    told = client.patch("/api/runs/R-1", json={"hoop_marks": 4})
    hint = is_problem(told, 422, "not-understood")["hint"]
    assert hint == "give pieces_defective as well, such as pieces_defective=4"


def test_corrections_at_the_same_time_do_not_lose_one_another(client: TestClient) -> None:
    names = ("gaps", "looping", "sinking", "soiling", "coverage", "shadowing")
    with ThreadPoolExecutor(len(names)) as pool:
        told = list(pool.map(lambda n: client.patch("/api/runs/R-1", json={n: 1}), names))
    assert {each.status_code for each in told} == {200}
    run = client.get("/api/runs/R-1").json()
    assert {name: run[name] for name in names} == dict.fromkeys(names, 1)


def test_a_run_is_withdrawn_with_a_reason_and_not_without(client: TestClient) -> None:
    for body in ({}, {"json": {}}, {"json": {"why": " "}}, {"json": {"why": None}}):
        told = client.request("DELETE", "/api/runs/R-1", **body)
        problem = is_problem(told, 422, "not-understood")
        assert problem["reasons"][0]["column"] == "why"
        assert "?why=" in problem["hint"]
        assert "--why" not in problem["hint"]
    told = client.request("DELETE", "/api/runs/R-1", json={"why": "entered twice"})
    assert told.json() == {"run_ref": "R-1", "withdrawn": True, "notes": []}
    assert "entered twice" in is_problem(client.get("/api/runs/R-1"), 404, "no-such-run")["detail"]
    is_problem(client.delete("/api/runs/R-1?why=again"), 409, "conflict")
    is_problem(client.patch("/api/runs/R-1", json={"gaps": 1}), 404, "no-such-run")
    assert the_book().history("R-1")[-1].why == "entered twice"
    assert client.get("/api/runs").json()["runs"] == []


def test_what_is_not_there_is_said(client: TestClient) -> None:
    for told in (
        client.get("/api/runs/nowhere"),
        client.patch("/api/runs/nowhere", json={"gaps": 1}),
        client.delete("/api/runs/nowhere?why=test"),
        client.get("/api/runs/%00%ff%ed%a0%80"),
    ):
        is_problem(told, 404, "no-such-run")


@pytest.mark.parametrize(
    ("method", "address"),
    [
        ("POST", "/api/runs?dry_run=true"),
        ("GET", "/api/runs?machines=M1"),
        ("GET", "/api/runs?limit=0"),
        ("GET", "/api/runs?limit=2&limit=3"),
        ("GET", "/api/runs?since=2026-10-07&until=2026-10-01"),
        ("GET", "/api/runs?until=yesterday"),
        ("GET", "/api/runs/R-1?x=1"),
        ("PATCH", "/api/runs/R-1?reason=x"),
        ("DELETE", "/api/runs/R-1?why=x&why=y"),
    ],
)
def test_a_parameter_that_is_none_is_refused(client: TestClient, method: str, address: str) -> None:
    body = {} if method in ("GET", "DELETE") else {"json": A_RUN}
    problem = is_problem(client.request(method, address, **body), 422, "not-understood")
    assert problem["reasons"]
    assert the_book().count() == 1


def test_a_book_without_runs_is_listed_as_empty(tmp_path: Path) -> None:
    with asking(empty_book(tmp_path / "book")) as client:
        assert client.get("/api/runs").json() == {"runs": [], "more": False, "notes": []}
