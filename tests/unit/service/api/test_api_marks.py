"""Places of defects and breaks over HTTP: told by machines, read back, every refusal told."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from api_client import TestClient, asking, is_problem
from logged_runs import book_of_one

from logbook.book.defect_locations import locations_of_run
from logbook.runs.defect_locations import BreakLocation, DefectLocation
from logbook.runs.designs import Design, DesignVersion
from logbook.service import the_book

HERE = "/api/runs/R-1/marks"
BREAK = {"kind": "thread_breaks", "head": 3, "needle": 4, "colour_step": 2, "stitch": 2310}
PLACE = {"kind": "hoop_marks", "x_mm": 12.5, "y_mm": -8}


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with asking(book_of_one(tmp_path / "book", puckering=0)) as client:
        yield client


def _kept() -> tuple[int, int]:
    marks = locations_of_run(the_book(), the_book().runs(refs=["R-1"]).row(0, named=True))
    return len(marks.places), len(marks.breaks)


def test_places_are_added_and_read_back(client: TestClient) -> None:
    assert client.get(HERE).json() == {
        "run_ref": "R-1",
        "design": "Hare monogram",
        "design_version": None,
        "places": [],
        "breaks": [],
        "notes": [],
    }
    told = client.post(HERE, json={"places": [PLACE], "breaks": [BREAK]})
    assert (told.status_code, told.headers["location"]) == (201, HERE)
    assert told.json()["places"] == [{**PLACE, "y_mm": -8.0}]
    assert told.json()["breaks"] == [BREAK]
    assert "no stitch file" in told.json()["notes"][0]
    assert client.get(HERE).json() == told.json()
    run = the_book().runs(refs=["R-1"]).row(0, named=True)
    marks = locations_of_run(the_book(), run)
    assert marks.places == (DefectLocation("hoop_marks", 12.5, -8.0),)
    assert marks.breaks == (BreakLocation("thread_breaks", 3, 4, 2, 2310),)
    second = client.post(HERE, json={"breaks": [{"kind": "Thread breaks", "stitch": 9.0}]}).json()
    nothing = dict.fromkeys(("head", "needle", "colour_step"))
    assert second["breaks"] == [BREAK, {"kind": "thread_breaks", **nothing, "stitch": 9}]


def test_a_run_with_its_stitch_file_has_no_note(client: TestClient) -> None:
    numbers = (2000, 2, 50.0, 40.0, 5.0, 4.0, 6.0)
    version = DesignVersion("00112233445566aa", "a.dst", "dst", datetime(2026, 1, 1), *numbers)
    design = Design("Crest", (version,))
    the_book().put_document("designs", "Crest", design.plain(), source="test")
    assert client.patch("/api/runs/R-1", json={"design": "Crest"}).status_code == 200
    told = client.post(HERE, json={"places": [PLACE]}).json()
    assert (told["design_version"], told["notes"]) == (version.digest, [])


@pytest.mark.parametrize(
    ("sent", "column", "says"),
    [
        ([], "", "not an object"),
        ({}, "", "neither places nor breaks"),
        ({"places": [], "breaks": None}, "", "neither places nor breaks"),
        ({"place": [PLACE]}, "place", "no 'place'"),
        ({"places": PLACE}, "places", "not a list"),
        ({"places": [3]}, "places[0]", "not an object"),
        ({"places": [PLACE, {**PLACE, "kind": 7}]}, "places[1].kind", "which kind"),
        ({"places": [{**PLACE, "kind": "thread_breaks"}]}, "places[0].kind", "at a place"),
        ({"places": [{**PLACE, "kind": "any"}]}, "places[0].kind", "at a place"),
        ({"places": [{**PLACE, "x_mm": None}]}, "places[0].x_mm", "millimetres"),
        ({"places": [{**PLACE, "x_mm": True}]}, "places[0].x_mm", "millimetres"),
        ({"places": [{**PLACE, "y_mm": "8"}]}, "places[0].y_mm", "millimetres"),
        ({"places": [{**PLACE, "y_mm": 10**400}]}, "places[0].y_mm", "no place"),
        ({"places": [{**PLACE, "y_mm": 2001}]}, "places", "no place"),
        ({"places": [{**PLACE, "kind": "puckering"}]}, "puckering", "counted no puckering"),
        ({"places": [PLACE] * 501}, "places", "more than 500"),
        ({"breaks": [{"kind": "thread_breaks"}]}, "breaks[0]", "none of head, needle"),
        ({"breaks": [{**BREAK, "kind": "gaps"}]}, "breaks[0].kind", "not one of"),
        ({"breaks": [{**BREAK, "head": 0}]}, "breaks[0].head", "from 1 to 100"),
        ({"breaks": [{**BREAK, "head": True}]}, "breaks[0].head", "from 1 to 100"),
        ({"breaks": [{**BREAK, "needle": 1.5}]}, "breaks[0].needle", "from 1 to 30"),
        ({"breaks": [{**BREAK, "stitch": "9"}]}, "breaks[0].stitch", "from 1 to 5,000,000"),
        ({"breaks": [{**BREAK, "head": 9}]}, "head", "sewed on 8"),
        ({"breaks": [BREAK] * 3}, "thread_breaks", "the run counted 2"),
    ],
)
def test_what_cannot_be_is_refused_whole(
    client: TestClient, sent: Any, column: str, says: str
) -> None:
    problem = is_problem(client.post(HERE, json=sent), 422, "not-understood")
    [reason] = problem["reasons"]
    assert reason["column"] == column
    assert says in reason["reason"]
    assert says in problem["detail"]
    assert problem["hint"]
    assert _kept() == (0, 0)


def test_an_unknown_kind_is_told_with_the_nearest(client: TestClient) -> None:
    sent = {"places": [{**PLACE, "kind": "hoop_mark"}]}
    problem = is_problem(client.post(HERE, json=sent), 422, "not-understood")
    assert "hoop_marks" in problem["hint"]


def test_a_run_that_is_not_there_has_no_places(client: TestClient) -> None:
    is_problem(client.get("/api/runs/R-9/marks"), 404, "no-such-run")
    is_problem(client.post("/api/runs/R-9/marks", json={"breaks": [BREAK]}), 404, "no-such-run")
    client.delete("/api/runs/R-1?why=test")
    is_problem(client.get(HERE), 404, "no-such-run")
    is_problem(client.get(f"{HERE}?limit=3"), 422, "not-understood")
    is_problem(client.post(HERE, content=b"{"), 415, "wrong-media-type")
    headers = {"content-type": "application/json"}
    is_problem(client.post(HERE, content=b"{", headers=headers), 400, "not-json")


def test_a_request_that_comes_again_under_its_key_adds_nothing(client: TestClient) -> None:
    def post(sent: Any, key: str) -> Any:
        return client.post(HERE, json=sent, headers={"Idempotency-Key": key})

    first = post({"breaks": [BREAK]}, "k-1")
    again = post({"breaks": [BREAK]}, "k-1")
    assert (first.status_code, again.status_code) == (201, 200)
    assert again.json() == first.json()
    is_problem(post({"places": [PLACE]}, "k-1"), 422, "other-body")
    assert _kept() == (0, 1)
    assert post({"breaks": [BREAK]}, "k-2").status_code == 201
    assert _kept() == (0, 2)
    assert post({"breaks": [BREAK]}, "k-1").json()["breaks"] == [BREAK, BREAK]
    is_problem(post({"breaks": [BREAK]}, "a b"), 400, "bad-key")


def test_several_machines_mark_one_run_at_once(client: TestClient) -> None:
    def post(at: int) -> int:
        place = {**PLACE, "x_mm": at % 4}
        headers = {"Idempotency-Key": f"k-{at % 4}"}
        return client.post(HERE, json={"places": [place]}, headers=headers).status_code

    with ThreadPoolExecutor(4) as machines:
        told = sorted(machines.map(post, range(8)))
    assert told == [200] * 4 + [201] * 4  # a key adds once
    assert sorted(each["x_mm"] for each in client.get(HERE).json()["places"]) == [0, 1, 2, 3]


def test_a_reference_may_hold_a_slash_or_the_word_itself(client: TestClient) -> None:
    for run_ref, plain in (("A/marks", "A%2Fmarks"), ("A", "A"), ("marks", "marks")):
        run = {"run_ref": run_ref, "finished_at": "2026-10-06", "pieces_sewn": 9, "gaps": 1}
        assert client.post("/api/runs", json=run).status_code == 201
        assert client.get(f"/api/runs/{plain}").json()["run_ref"] == run_ref
        sent = {"places": [{"kind": "gaps", "x_mm": len(run_ref), "y_mm": 0}]}
        told = client.post(f"/api/runs/{plain}/marks", json=sent)
        assert told.headers["location"] == f"/api/runs/{plain}/marks"
        assert client.get(told.headers["location"]).json()["run_ref"] == run_ref
        assert len(told.json()["places"]) == 1
    refused = client.post("/api/runs/A%2Fmarks", json=sent)
    is_problem(refused, 405)
    assert refused.headers["allow"] == "GET, PATCH, DELETE"
