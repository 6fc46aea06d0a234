"""The description of the API: complete, true to its answers, and readable without a network."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import jsonschema_rs
import pytest
from api_client import TestClient, asking
from logged_runs import EARLIER_RUN

from logbook.book.runs import log_run
from logbook.questions import QUESTIONS
from logbook.service.api.description import EXAMPLES
from logbook.service.api.problems import Problem
from logbook.store import new_book

ANSWERS, REQUESTS = EXAMPLES["answers"], EXAMPLES["requests"]

OWN_KIND = """
[shop]
name = "Thread & <Needle>"
timezone = "UTC"

[[defect_kind]]
name = "loose_ends"
label = "Loose ends"
"""


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    store = new_book(str(tmp_path_factory.mktemp("described") / "book"), settings=OWN_KIND)
    log_run(store, EARLIER_RUN, source="test")
    with asking(store) as client:
        yield client


@pytest.fixture(scope="module")
def description(client: TestClient) -> dict[str, Any]:
    return dict(client.get("/api/openapi.json").json())


def _operations(description: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {
        f"{method} {path}": operation
        for path, item in description["paths"].items()
        for method, operation in item.items()
    }


def _checker(description: dict[str, Any], name: str) -> Any:
    return jsonschema_rs.validator_for(
        {"$ref": f"#/components/schemas/{name}", "components": description["components"]}
    )


def test_every_route_is_described(description: dict[str, Any]) -> None:
    assert set(_operations(description)) == {
        "post /api/runs",
        "get /api/runs",
        "get /api/runs/{run_ref}",
        "patch /api/runs/{run_ref}",
        "delete /api/runs/{run_ref}",
        "get /api/runs/{run_ref}/marks",
        "post /api/runs/{run_ref}/marks",
        "post /api/trials",
        "post /api/trials/{ref}/start",
        "post /api/trials/{ref}/end",
        *(f"get /api/{name}" for name in {*QUESTIONS, "factors"}),
    }
    assert description["openapi"].startswith("3.1")
    for operation in _operations(description).values():
        assert operation["description"]
        assert "$ref" not in str(operation.get("parameters"))
        for status, told in operation["responses"].items():
            [(media_type, content)] = told["content"].items()
            problem = int(status) >= 400
            assert media_type == ("application/problem+json" if problem else "application/json")
            # A question without an example is described by its schema alone.
            assert "example" in content or "Questions" in operation["tags"]


def test_every_reference_leads_somewhere(description: dict[str, Any]) -> None:
    named = set(re.findall(r"#/components/schemas/([\w.]+)", str(description)))
    assert named == set(description["components"]["schemas"])


@pytest.mark.parametrize("name", sorted(ANSWERS))
def test_examples_of_answers_are_as_described(description: dict[str, Any], name: str) -> None:
    example = {"loose_ends": None, **ANSWERS[name]}
    for run in example.get("runs", []) if name == "Runs" else []:
        run.setdefault("loose_ends", None)
    _checker(description, name).validate(example)


def test_examples_of_requests_are_as_described_and_are_taken(
    client: TestClient, description: dict[str, Any]
) -> None:
    for example in REQUESTS["Log a run, or many"].values():
        runs = example["value"] if isinstance(example["value"], list) else [example["value"]]
        for run in runs:
            _checker(description, "RunToLog").validate(run)
        assert client.post("/api/runs", json=example["value"]).status_code == 201
    for summary, schema in (
        ("Correct a run", "RunCorrection"),
        ("Withdraw a run", "Reason"),
        ("Mark where defects and breaks were", "MarksToAdd"),
        ("Draw up a trial", "TrialToPlan"),
        ("End a trial", "Reason"),
    ):
        for example in REQUESTS[summary].values():
            _checker(description, schema).validate(example["value"])
    run = {"run_ref": "M", "finished_at": "2026-10-06", "pieces_sewn": 9, "thread_breaks": 3}
    run["puckering"] = 2
    assert client.post("/api/runs", json=run).status_code == 201
    for example in REQUESTS["Mark where defects and breaks were"].values():
        told = client.post("/api/runs/M/marks", json=example["value"])
        assert told.status_code == 201
        _checker(description, "Marks").validate(told.json())


def test_a_shops_own_kinds_are_described(client: TestClient, description: dict[str, Any]) -> None:
    for name in ("Run", "RunToLog", "RunCorrection"):
        assert "loose_ends" in description["components"]["schemas"][name]["properties"]
    run = {"run_ref": "own", "finished_at": "2026-10-06", "pieces_sewn": 9, "loose_ends": 1}
    assert client.post("/api/runs", json=run).status_code == 201
    told = client.get("/api/runs/own").json()
    _checker(description, "RunWithHistory").validate(told)
    assert told["loose_ends"] == 1


def test_the_page_fetches_nothing_and_runs_nothing(client: TestClient) -> None:
    told = client.get("/api/docs")
    assert told.headers["content-type"] == "text/html; charset=utf-8"
    assert told.headers["content-security-policy"].startswith("default-src 'none'")
    page = told.text
    assert not re.search(r"<script|<link|<img|@import|url\(|\son\w+=|https?://", page)
    assert set(re.findall(r'href="([^"]+)"', page)) >= {"openapi.json", "#problems"}
    anchors = set(re.findall(r'href="#([^"]+)"', page))
    assert anchors <= set(re.findall(r'id="([^"]+)"', page))


def test_the_page_tells_all_of_it(client: TestClient, description: dict[str, Any]) -> None:
    page = client.get("/api/docs").text
    for operation in _operations(description).values():
        assert f'id="{operation["operationId"]}"' in page
    for kind in Problem:
        assert f'id="{kind.slug}"' in page
    for name in description["components"]["schemas"]["RunToLog"]["properties"]:
        assert f"<code>{name}</code>" in page
    assert "Thread &amp; &lt;Needle&gt;" in page


def test_every_column_of_the_run_sheet_is_described(description: dict[str, Any]) -> None:
    from logbook.runs.intake.headings import known_names

    told = set(description["components"]["schemas"]["RunToLog"]["properties"])
    assert told == known_names() | {"loose_ends"}


def test_examples_are_kept_as_the_program_answers_now(client: TestClient) -> None:
    week = client.get("/api/review").json()
    assert set(ANSWERS["Review"]) == set(week)
    chart = client.get("/api/chart?defect=hoop_marks").json()
    assert set(ANSWERS["Chart"]) == set(chart)
    suppliers = client.get("/api/suppliers").json()
    assert set(ANSWERS["Suppliers"]) == set(suppliers)
    assert set(ANSWERS["Suppliers"]["suppliers"][0]) == set(suppliers["suppliers"][0])
