"""Who sets jobs up otherwise than the others on like fabrics."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import pytest

from logbook.book.runs import log_run
from logbook.questions.where import QUESTION
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    """On fleece Northgate floats four runs of five, Southgate one; denim is hooped by both."""
    with new_book(str(tmp_path_factory.mktemp("setups") / "book")) as store:
        for number in range(120):
            north, fleece = number % 2 == 0, number % 3 > 0
            floats = fleece and (number // 6 % 5 > 0) == north
            run = {
                "finished_at": datetime(2026, 9, 1, 8) + timedelta(hours=number),
                "site": "Northgate" if north else "Southgate",
                "fabric": "polar fleece" if fleece else "denim",
                "hooping": "floated" if floats else "hooped",
                "pieces_sewn": 20,
                "pieces_inspected": 20,
                "gaps": int(number % 4 == 0),
            }
            log_run(store, run, source="test")
        yield store


def test_a_site_that_departs_from_the_recipe_is_named(book: DuckStore) -> None:
    answer = QUESTION.asked(book, defect="gaps", by="site")
    [north] = [u for u in answer.result.setups if u.level == {"site": "Northgate"}]
    assert (north.column, north.runs) == ("hooping", 60)
    # Two thirds of the runs are of fleece: floated on 4 in 5 there, 1 in 5 at the other site.
    assert north.share == pytest.approx(2 / 3 * 0.8 if north.value == "floated" else 1 - 1.6 / 3)
    assert abs(north.share - north.share_of_others) == pytest.approx(0.4)
    assert any("Site Northgate is set up otherwise: hooping" in each for each in answer.sentences)


def test_other_columns_have_no_recipe(book: DuckStore) -> None:
    assert QUESTION.asked(book, defect="gaps", by="fabric").result.setups == ()
