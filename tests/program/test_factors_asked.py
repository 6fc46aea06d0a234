"""What goes with a defect, through the whole program: a run sheet in, ``--json`` out."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest
from program import answer, book_of, days, logbook

FIELDS = {
    *("factor", "level", "reference", "runs", "pieces_inspected", "crude_rate", "adjusted_rate"),
    *("adjusted_interval", "ratio", "ratio_interval", "p_value", "q_value", "finding"),
    "like_for_like_share",
}
RUNS = 480
RATES = {"pique polo": 0.02, "jersey T-shirt": 0.06}
"""Of pieces that pucker; a sharp needle makes it twice as many, the topping does nothing."""


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    chance = random.Random(2026)
    rows = []
    for number, day in zip(range(RUNS), days(RUNS), strict=True):
        fabric = list(RATES)[number % 2]
        # Sharps are mostly given to the easy fabric, so that crudely they look harmless.
        sharp = chance.random() < (0.75 if fabric == "pique polo" else 0.15)
        rate = RATES[fabric] * (2.0 if sharp else 1.0)
        pieces = chance.randrange(60, 120)
        rows.append(
            {
                "run_ref": f"R{number}",
                "finished_at": day,
                "fabric": fabric,
                "design": f"D{chance.randrange(12)}",
                "backing": "cutaway",
                "backing_gsm": 60,
                "needle_point": "sharp" if sharp else "light_ball",
                "topping": ("none", "water_soluble_film")[chance.randrange(2)],
                "pieces_inspected": pieces,
                "puckering": sum(chance.random() < rate for _ in range(pieces)),
            }
        )
    book = book_of(tmp_path_factory.mktemp("factors"), rows)
    return book, answer("factors", "--defect", "puckering", book=book)


def _effects(said: dict[str, Any]) -> dict[tuple[str, str], dict[str, Any]]:
    return {(each["factor"], each["level"]): each for each in said["effects"]}


def test_the_answer_has_the_fields_of_the_contract(asked: tuple[Path, dict[str, Any]]) -> None:
    said = asked[1]
    assert said["defect"] == "puckering"
    assert said["effects"]
    for each in said["effects"]:
        assert set(each) >= FIELDS
    assert isinstance(said["notes"], list)


def test_the_needle_is_found_though_crudely_it_hides(asked: tuple[Path, dict[str, Any]]) -> None:
    sharp = _effects(asked[1])["needle_point", "sharp"]
    assert sharp["finding"]
    lower, upper = sharp["ratio_interval"]
    assert lower < 2.0 < upper
    assert sharp["crude_ratio"] < 1.3
    assert sharp["q_value"] < 0.01


def test_the_topping_that_does_nothing_is_not_flagged(asked: tuple[Path, dict[str, Any]]) -> None:
    for level in ("none", "water_soluble_film"):
        topping = _effects(asked[1])["topping", level]
        assert not topping["finding"]
        assert topping["ratio_interval"][0] < 1 < topping["ratio_interval"][1]


def test_what_never_varied_is_said(asked: tuple[Path, dict[str, Any]]) -> None:
    alone = {each["factor"]: each["level"] for each in asked[1]["never_varied"]}
    assert alone["backing"] == "cut_away"
    assert alone["machine"] is None
    assert any("Always the same" in note and "Cut-away" in note for note in asked[1]["notes"])


def test_the_words_hold_the_finding(asked: tuple[Path, dict[str, Any]]) -> None:
    shown = " ".join(logbook("factors", "--defect", "puckering", book=asked[0]).split())
    assert asked[1]["finding"] in shown
    assert "needle point sharp" in shown
    assert shown.index("needle point sharp") < shown.index("Needle point: Sharp")
