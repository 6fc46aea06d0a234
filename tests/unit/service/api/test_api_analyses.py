"""The questions over HTTP answer what their commands write with --json, to the letter."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from api_client import TestClient, asking, is_problem
from program import answer

from logbook.book.demo import sample_folder, sample_sheets
from logbook.book.sheets import import_sheets
from logbook.store import new_book, open_book

ASKED: tuple[tuple[tuple[str, ...], str], ...] = (
    (("review",), "review"),
    (("review", "--week", "2026-W40", "--site", "nowhere"), "review?week=2026-W40&site=nowhere"),
    (("chart", "--defect", "gaps"), "chart?defect=gaps"),
    (
        ("chart", "--defect", "Thread breaks", "--by", "month", "--spread", "plain"),
        "chart?defect=Thread+breaks&by=month&spread=plain",
    ),
    (
        ("chart", "--defect", "any", "--baseline", "2025-W46..2025-W49", "--since", "2025-11-10"),
        "chart?defect=any&baseline=2025-W46..2025-W49&since=2025-11-10",
    ),
    (
        (
            *("suppliers", "--defect", "puckering", "--backing", "no-show mesh"),
            *("--reference", "Alder", "--margin", "0.7", "--until", "2025-12-20"),
        ),
        "suppliers?defect=puckering&backing=no-show+mesh&reference=Alder&margin=0.7"
        "&until=2025-12-20",
    ),
    (("factors", "--defect", "needle_breaks"), "factors?defect=needle_breaks"),
    (
        ("advise", "--fabric", "terry towel", "--fabric-shade", "mid", "topping=none"),
        "advise?fabric=terry+towel&fabric_shade=mid&topping=none",
    ),
    (
        ("advise", "--fabric", "pique polo", "--density", "4.5", "speed_spm=800", "needle-nm=75"),
        "advise?fabric=pique+polo&density=4.5&speed_spm=800&needle-nm=75",
    ),
)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two months of the sample year: enough for every question to have an answer."""
    place = tmp_path_factory.mktemp("two-months") / "book"
    settings = (sample_folder() / "shop.toml").read_text(encoding="utf-8")
    with new_book(str(place), settings=settings) as store:
        import_sheets(store, sample_sheets()[:2])
    return place


@pytest.fixture(scope="module")
def written(place: Path) -> list[dict[str, Any]]:
    """What the commands write; asked first, while no service holds the book."""
    return [answer(*words, book=place) for words, _ in ASKED]


@pytest.fixture(scope="module")
def client(place: Path, written: list[dict[str, Any]]) -> Iterator[TestClient]:
    with asking(open_book(str(place))) as client:
        yield client


def _to_rounding(told: Any) -> Any:
    """The same, but for the last digits: the order in which sums are taken differs by process."""
    if isinstance(told, dict):
        return {name: _to_rounding(value) for name, value in told.items()}
    if isinstance(told, list):
        return [_to_rounding(value) for value in told]
    return pytest.approx(told, rel=1e-9, abs=1e-12) if isinstance(told, float) else told


@pytest.mark.parametrize("number", range(len(ASKED)), ids=lambda number: ASKED[number][1])
def test_the_command_and_the_address_say_the_same(
    client: TestClient, written: list[dict[str, Any]], number: int
) -> None:
    told = client.get(f"/api/{ASKED[number][1]}")
    assert told.status_code == 200, told.text
    assert told.headers["content-type"] == "application/json"
    assert told.json() == _to_rounding(written[number])


@pytest.mark.parametrize(
    ("asked", "named"),
    [
        ("review?week=2026-W99", None),
        ("chart?defect=puckring", "defect"),
        ("chart?defect=gaps&baseline=2026-W01", "baseline"),
        ("chart?defect=gaps&since=2026-10-01&until=2026-09-01", "until"),
        ("suppliers?backing=cardboard", "backing"),
        ("suppliers?margin=-1", "margin"),
        ("suppliers?margin=nan", "margin"),
        ("suppliers?reference=Nobody", None),
        ("factors", "defect"),
        ("advise", "fabric"),
        ("advise?fabric=terry+towel&design=Hare&density=4", "density"),
        ("advise?fabric=terry+towel&toppings=none", "toppings"),
        ("advise?fabric=terry+towel&topping=paper", "topping"),
        ("advise?fabric=terry+towel&needle-nm=75&needle_nm=80", "needle_nm"),
        ("advise?fabric=terry+towel&fabric-shade=mid", "fabric_shade"),
        ("advise?fabric=nothing+known", None),
    ],
)
def test_a_question_that_cannot_be_is_told_why(
    client: TestClient, asked: str, named: str | None
) -> None:
    told = client.get(f"/api/{asked}")
    assert told.status_code == 422, told.text
    problem = is_problem(told, 422, told.json()["type"].rpartition("#")[2])
    assert problem["type"].endswith(
        "#not-understood" if named else ("#no-answer", "#not-understood")
    )
    assert [each["column"] for each in problem["reasons"]] == ([named] if named else [])


def test_setup_keys_are_plain_parameters(client: TestClient) -> None:
    keys = {"fabric": "terry towel", "topping": "none", "backing": "tear_away"}
    told = client.get(f"/api/advise?{urlencode(keys)}").json()
    assert told["now"]["setup"]["topping"] == "none"
    assert told["now"]["setup"]["backing"] == "tear_away"
