"""What is planted in the sample logs comes out of the commands that compare and advise."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from logbook.book.demo import make_demo
from logbook.errors import RecordError, TooLittleData
from logbook.questions.advice.asking import advise
from logbook.questions.asking import compare_suppliers
from logbook.store.duckdb_store import DuckStore


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    folder: Path = tmp_path_factory.mktemp("planted") / "book"
    store, _ = make_demo(str(folder))
    with store:
        yield store


def test_mesh_of_one_supplier_puckers_more_and_that_of_the_others_does_not(book):
    answer = compare_suppliers(
        book, kind="puckering", backing="sheer_mesh", reference="Alder"
    ).as_json()
    verdicts = {row["supplier"]: row["verdict"] for row in answer["suppliers"]}
    assert verdicts["Cedar"] == "worse"
    assert verdicts["Birch"] == "no_worse"
    assert verdicts["Dogwood"] in ("no_worse", "not_enough_data")
    assert answer["finding"].startswith("Cedar sheer mesh is worse than Alder on the same jobs")


def test_where_suppliers_are_alike_none_is_called_better_or_worse(book):
    for backing in ("cut_away", "tear_away"):
        answer = compare_suppliers(book, kind="puckering", backing=backing).as_json()
        assert all(row["verdict"] not in ("better", "worse") for row in answer["suppliers"])


def test_film_is_advised_on_loops_and_not_on_flat_cloth(book):
    towel = advise(book, fabric="Terry Towel", setup={"topping": "none"})
    first = towel.suggestions[0]
    assert [(change.factor, change.after) for change in first.changes] == [
        ("topping", "water_soluble_film")
    ]
    assert first.evidence == "strong"
    sinking = next(each for each in first.by_kind if each.kind == "sinking")
    assert sinking.after < sinking.before / 3
    twill = advise(book, fabric="twill")
    for each in twill.suggestions:
        if any(change.factor == "topping" for change in each.changes):
            assert each.saving_per_100 < first.saving_per_100 / 10


def test_black_backing_under_light_shirts_is_advised_against(book):
    shirt = advise(
        book, fabric="woven shirt", fabric_shade="light", setup={"backing_shade": "black"}
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


def test_what_cannot_be_asked_is_said(book):
    with pytest.raises(TooLittleData, match="No run on felt is on record"):
        advise(book, fabric="felt")
    with pytest.raises(RecordError) as problem:
        advise(book, fabric="twill", setup={"backing": "cardboard"})
    assert "backing" in problem.value.reasons
