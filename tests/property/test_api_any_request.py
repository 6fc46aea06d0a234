"""Whatever is asked of the API, it answers as it is described, and never falls over."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from api_client import A_RUN, TestClient, asking, served_api
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from logged_runs import EARLIER_RUN, book_of_one
from schemathesis import Case, GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from logbook.book.runs import log_run
from logbook.questions import QUESTIONS
from logbook.service import close_book, set_book, the_book
from logbook.service.api.addresses import run_at
from logbook.store import new_book

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
PATIENT = settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with asking(book_of_one(tmp_path_factory.mktemp("asked") / "book")) as client:
        yield client


@pytest.fixture(scope="module")
def described(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The description of a book with some weeks of runs, such as a question can be asked of."""
    store = new_book(str(tmp_path_factory.mktemp("described") / "book"))
    for week in range(20):
        day = f"2026-{5 + week // 4:02}-{1 + 7 * (week % 4):02}"
        for number, supplier in enumerate(("Alder", "Birch")):
            run = {
                **EARLIER_RUN,
                "run_ref": f"R-{week}-{number}",
                "finished_at": day,
                "backing_supplier": supplier,
                "puckering": (week + number) % 3,
                "pieces_defective": 3,
            }
            log_run(store, run, source="test")
    set_book(store)
    try:
        yield schemathesis.openapi.from_asgi("/api/openapi.json", served_api())
    finally:
        close_book()


OPERATIONS = [
    ("POST", "/api/runs"),
    ("GET", "/api/runs"),
    ("GET", "/api/runs/{run_ref}"),
    ("PATCH", "/api/runs/{run_ref}"),
    ("DELETE", "/api/runs/{run_ref}"),
    ("GET", "/api/runs/{run_ref}/marks"),
    ("POST", "/api/runs/{run_ref}/marks"),
    ("POST", "/api/trials"),
    ("POST", "/api/trials/{ref}/start"),
    ("POST", "/api/trials/{ref}/end"),
    *(("GET", f"/api/{name}") for name in QUESTIONS),
]
ASKED = [
    (method, path, mode)
    for method, path in OPERATIONS
    for mode in GenerationMode
    # Whatever text a reference is, it may be one: nothing there can be asked wrongly.
    if (method, mode) != ("GET", GenerationMode.NEGATIVE) or "{run_ref}" not in path
    if (path, mode) != ("/api/trials/{ref}/start", GenerationMode.NEGATIVE)
]


def test_every_operation_is_asked(described: Any) -> None:
    there = {
        (operation.ok().method.upper(), operation.ok().path)
        for operation in described.get_all_operations()
    }
    assert there == set(OPERATIONS)


@pytest.mark.parametrize(("method", "path", "mode"), ASKED)
def test_every_answer_is_as_described(
    described: Any, method: str, path: str, mode: GenerationMode
) -> None:
    operation = described[path][method]

    @given(case=operation.as_strategy(generation_mode=mode), known=st.booleans())
    @PATIENT
    def asked(case: Case, known: bool) -> None:
        if known and "run_ref" in case.path_parameters:
            case.path_parameters["run_ref"] = "R-3-1"
        case.call_and_validate(checks=CHECKS)

    asked()


TEXT = st.text(max_size=30) | st.sampled_from(
    ["\x00", "\ud800", "'; DROP TABLE runs", "NaN", "1e999", "-0", "2026-10-06", "cut_away", "²"]
)
SCALARS = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.integers(min_value=-(10**40), max_value=10**40)
    | st.floats(allow_nan=False, allow_infinity=False)
    | TEXT
)
ANY_JSON = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=12,
)
NAMES = st.sampled_from(
    [
        *("run_ref", "finished_at", "machine", "fabric", "backing", "needle_nm", "speed_spm"),
        *("pieces_inspected", "pieces_sewn", "puckering", "thread_breaks", "needle_breaks"),
        *("needle_parts_found", "pucker_grade", "backing_oz_yd2", "notes", "why", "Pieces Sewn"),
    ]
)
NEARLY_RUNS = st.builds(
    lambda usual, odd: {**(A_RUN if usual else {}), **odd},
    st.booleans(),
    st.dictionaries(NAMES | TEXT, SCALARS, max_size=5),
)


def _sent(content: Any) -> bytes:
    return json.dumps(content).encode()


HEADERS = {"content-type": "application/json"}


@given(content=ANY_JSON | NEARLY_RUNS | st.lists(NEARLY_RUNS | ANY_JSON, max_size=5))
@PATIENT
def test_of_whatever_is_posted_nothing_disappears(client: TestClient, content: Any) -> None:
    before = the_book().count()
    told = client.post("/api/runs", content=_sent(content), headers=HEADERS)
    assert told.status_code in (200, 201, 409, 422), told.text
    answer = told.json()
    rows = len(content) if isinstance(content, list) else 1
    assert answer["added"] + answer["skipped"] + len(answer["rejected"]) == rows
    assert the_book().count() == before + answer["added"]
    assert {each["index"] for each in answer["rejected"]} == {
        place for place, run_ref in enumerate(answer["run_refs"]) if run_ref is None
    }
    assert all(each["reason"] for each in answer["rejected"])
    assert (told.status_code == 201) == (answer["added"] > 0)
    assert (told.status_code == 200) == (answer["added"] == 0 < answer["skipped"])
    again = client.post("/api/runs", content=_sent(content), headers=HEADERS).json()
    assert again["added"] == 0
    assert again["run_refs"] == answer["run_refs"]


@given(content=st.lists(NEARLY_RUNS, min_size=1, max_size=3), key=st.uuids())
@settings(PATIENT, max_examples=30)
def test_whatever_is_posted_again_under_its_key_is_answered_alike(
    client: TestClient, content: Any, key: Any
) -> None:
    headers = {**HEADERS, "Idempotency-Key": f'"{key}"'}
    first = client.post("/api/runs", content=_sent(content), headers=headers)
    runs = the_book().count()
    again = client.post("/api/runs", content=_sent(content), headers=headers)
    assert (again.status_code, again.content) == (first.status_code, first.content)
    assert the_book().count() == runs


@given(body=st.binary(max_size=200) | ANY_JSON.map(_sent), run_ref=TEXT)
@PATIENT
def test_whatever_body_comes_is_answered(client: TestClient, body: bytes, run_ref: str) -> None:
    place = run_at(run_ref)
    for method, address in (
        ("POST", "/api/runs"),
        ("PATCH", "/api/runs/R-1"),
        ("PATCH", place),
        ("DELETE", place),
        ("POST", "/api/runs/R-1/marks"),
        ("POST", f"{place}/marks"),
    ):
        told = client.request(method, address, content=body, headers=HEADERS)
        assert told.status_code < 500, told.text
        if told.status_code >= 400:
            assert told.headers["content-type"] == "application/problem+json"


NEARLY_MARKS = st.fixed_dictionaries(
    {},
    optional={
        name: st.lists(
            st.dictionaries(
                st.sampled_from(["kind", "x_mm", "y_mm", "head", "needle", "stitch"]) | TEXT,
                st.sampled_from(["gaps", "thread_breaks", 1, 2.0, 3.5]) | SCALARS,
                max_size=5,
            )
            | SCALARS,
            max_size=3,
        )
        for name in ("places", "breaks")
    },
)


@given(content=NEARLY_MARKS)
@PATIENT
def test_marks_are_taken_whole_or_not_at_all(client: TestClient, content: Any) -> None:
    before = client.get("/api/runs/R-1/marks").json()
    told = client.post("/api/runs/R-1/marks", content=_sent(content), headers=HEADERS)
    assert told.status_code in (201, 422), told.text
    after = client.get("/api/runs/R-1/marks").json()
    for name in ("places", "breaks"):
        more = len(content.get(name, [])) if told.status_code == 201 else 0
        assert len(after[name]) == len(before[name]) + more


@given(
    asked=st.sampled_from(["review", "chart", "suppliers", "factors", "advise", "runs"]),
    told=st.dictionaries(
        st.sampled_from(["defect", "fabric", "since", "week", "margin", "site", "topping"]) | TEXT,
        TEXT | st.sampled_from(["any", "puckering", "pique polo", "2026-W41", "1e308", "inf"]),
        max_size=4,
    ),
)
@PATIENT
def test_whatever_is_asked_is_answered(
    client: TestClient, asked: str, told: dict[str, str]
) -> None:
    plain = {_plain(name): _plain(value) for name, value in told.items()}
    answer = client.get(f"/api/{asked}", params=plain)
    assert answer.status_code in (200, 422), answer.text


def _plain(text: str) -> str:
    return text.encode("utf-8", "replace").decode()
