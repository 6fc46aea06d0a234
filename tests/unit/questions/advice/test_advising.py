"""What can be told of a job when advice is asked of a book."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from small_shop import small_book

from logbook.errors import RecordError
from logbook.questions.advice.asking import advise
from logbook.store.duckdb_store import DuckStore


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    with small_book(tmp_path_factory.mktemp("advice") / "book") as store:
        yield store


@pytest.mark.parametrize(
    ("told", "name"),
    [({"pieces_inspected": 9}, "pieces_inspected"), ({"Backing Lot": "L1"}, "backing_lot")],
)
def test_what_is_no_part_of_a_setup_is_refused_and_not_left_lying(book, told, name):
    with pytest.raises(RecordError, match="no part of a setup") as caught:
        advise(book, fabric=book.known("fabric")[0], setup=told)
    assert set(caught.value.reasons) == {name}


def test_a_fabric_without_a_name_is_refused(book):
    with pytest.raises(RecordError, match="no fabric is named"):
        advise(book, fabric="  ")


def test_measured_parts_are_told_in_the_run_sheets_units(book):
    told = {"backing_oz_yd2": "2", "speed_spm": "700", "needle_nm": "75"}
    job = advise(book, fabric=book.known("fabric")[0], setup=told).job
    # Two ounces a square yard are 68 g/m².
    assert job.setup["weight_band"] == "medium"
    assert (job.setup["speed_band"], job.setup["needle_nm"]) == ("steady", "75")


def test_a_density_that_nobody_sews_is_refused_in_a_sentence(book):
    with pytest.raises(RecordError, match="99 stitches/mm² cannot be sewn") as caught:
        advise(book, fabric=book.known("fabric")[0], density=99)
    assert set(caught.value.reasons) == {"density"}


def test_a_name_that_no_run_has_is_told_with_the_one_that_was_meant(book):
    supplier = book.known("backing_supplier")[0]
    told = {"backing_supplier": f"{supplier}x"}
    result = advise(book, fabric=book.known("fabric")[0], setup=told)
    assert f"No run has backing supplier {supplier}x: did you mean {supplier}?" in result.notes
