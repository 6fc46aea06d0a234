"""What is planted in the sample logs comes out of the commands that compare and advise."""

from __future__ import annotations

from typing import Any

import pytest

from logbook.errors import RecordError, TooLittleData
from logbook.questions.advice.asking import advise
from logbook.questions.suppliers import QUESTION
from logbook.store.duckdb_store import DuckStore


def compared(year: DuckStore, **asked: str) -> dict[str, Any]:
    return QUESTION.answer(year, QUESTION.parsed({"defect": "puckering", **asked})).as_json()


def test_mesh_of_one_supplier_puckers_more_and_that_of_the_others_does_not(year: DuckStore) -> None:
    answer = compared(year, backing="sheer_mesh", reference="Alder")
    verdicts = {row["supplier"]: row["verdict"] for row in answer["suppliers"]}
    assert verdicts["Cedar"] == "worse"
    assert verdicts["Birch"] == "no_worse"
    assert verdicts["Dogwood"] in ("no_worse", "not_enough_data")
    assert answer["finding"].startswith("100 good pieces cost EUR")
    assert "Cedar sheer mesh is worse than Alder on the same jobs" in answer["finding"]


def test_over_all_backings_it_is_named_on_which_one_a_supplier_is_worse(year: DuckStore) -> None:
    answer = compared(year, reference="Alder")
    assert {row["supplier"]: row["worse_on"] for row in answer["suppliers"]} == {
        "Alder": [],
        "Birch": [],
        "Cedar": ["sheer_mesh"],
        "Dogwood": [],
    }
    assert "worse on sheer mesh" in answer["finding"]
    assert all(row["changed_lately"] == [] for row in answer["suppliers"])


def test_the_reference_is_the_same_on_every_backing(year: DuckStore) -> None:
    references = {compared(year, backing=each)["reference"] for each in ("sheer_mesh", "tear_away")}
    assert references == {compared(year)["reference"]}


def test_where_suppliers_are_alike_none_is_called_better_or_worse(year: DuckStore) -> None:
    for backing in ("cut_away", "tear_away"):
        answer = compared(year, backing=backing)
        assert all(row["verdict"] not in ("better", "worse") for row in answer["suppliers"])


def test_film_is_advised_on_loops_and_not_on_flat_cloth(year: DuckStore) -> None:
    towel = advise(year, fabric="Terry Towel", setup={"topping": "none"})
    first = towel.suggestions[0]
    assert [(change.factor, change.after) for change in first.changes] == [
        ("topping", "water_soluble_film")
    ]
    assert first.evidence == "strong"
    sinking = next(each for each in first.by_kind if each.kind == "sinking")
    assert sinking.after < sinking.before / 3
    twill = advise(year, fabric="twill")
    for each in twill.suggestions:
        if any(change.factor == "topping" for change in each.changes):
            assert each.saving_per_100 < first.saving_per_100 / 10


def test_black_backing_under_light_shirts_is_advised_against(year: DuckStore) -> None:
    shirt = advise(
        year, fabric="woven shirt", fabric_shade="light", setup={"backing_shade": "black"}
    )
    white = next(
        each
        for each in shirt.suggestions
        if [(change.factor, change.after) for change in each.changes]
        == [("backing_shade", "white")]
    )
    assert white.evidence == "strong"
    shadowing = next(each for each in white.by_kind if each.kind == "shadowing")
    assert shadowing.after < shadowing.before / 3
    rule = next(each for each in shirt.rules if each.rule.name == "white_for_light")
    assert "bears it out" in rule.record


def test_what_cannot_be_asked_is_said(year: DuckStore) -> None:
    with pytest.raises(TooLittleData, match="No run on felt is on record"):
        advise(year, fabric="felt")
    with pytest.raises(RecordError) as problem:
        advise(year, fabric="twill", setup={"backing": "cardboard"})
    assert "backing" in problem.value.reasons
