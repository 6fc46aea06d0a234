"""The demo book: made once, opened after that, and shown by its command."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

import sample_logs
from logbook.book.demo import FAULTS, make_demo, sample_folder, sample_sheets
from logbook.book.designs import designs
from logbook.book.materials import products, shop_with_materials
from logbook.book.materials_in_use import product_shelf
from logbook.book.sheets import ImportResult
from logbook.book.weeks import last_week
from logbook.cli.app import application
from logbook.errors import NotABook
from sample_logs.designs import DESIGNS


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, ImportResult]:
    place = tmp_path_factory.mktemp("demo") / "demo-book"
    store, taken = make_demo(str(place))
    store.close()
    return place, taken


def test_the_sheets_are_the_months_in_order_without_the_faults() -> None:
    names = [path.name for path in sample_sheets()]
    assert names == sorted(names)
    assert len(names) >= 12
    assert FAULTS not in names
    assert (sample_folder() / FAULTS).is_file()
    assert sample_folder() == Path(sample_logs.__file__).parent


def test_every_row_of_the_year_is_taken(made: tuple[Path, ImportResult]) -> None:
    taken = made[1]
    rows = sum(outcome.rows for outcome in taken.files)
    assert (taken.added, taken.skipped, taken.rejected) == (rows, 0, 0)
    texts = [
        path.read_text(encoding="utf-8-sig") for path in sample_sheets() if path.suffix == ".csv"
    ]
    delimiters = [";" if ";" in text.splitlines()[0] else "," for text in texts]
    csv_rows = sum(
        len(list(csv.reader(io.StringIO(text), delimiter=delimiter))) - 1
        for text, delimiter in zip(texts, delimiters, strict=True)
    )
    assert csv_rows == sum(outcome.rows for outcome in taken.files if outcome.file.endswith(".csv"))


def test_the_command_opens_the_same_book_and_reviews_its_last_week(
    made: tuple[Path, ImportResult],
) -> None:
    place, taken = made
    done = CliRunner().invoke(application, ["demo", "--folder", str(place), "--json"])
    assert done.exit_code == 0, done.output
    answer = json.loads(done.stdout)
    assert (answer["import"]["added"], answer["import"]["skipped"]) == (0, taken.added)
    assert answer["book"] == str(place)
    store, again = make_demo(str(place))
    with store:
        assert answer["week"] == last_week(store)
        assert store.count() == taken.added
    assert again.added == 0


def test_designs_have_the_names_of_the_run_sheets(made: tuple[Path, ImportResult]) -> None:
    with make_demo(str(made[0]))[0] as store:
        kept = {each.name: each.newest.file_name for each in designs(store)}
    assert kept == {each.name: each.file_name for each in DESIGNS}


def test_the_shelf_holds_the_prices_fabrics_and_lots_of_the_year(
    made: tuple[Path, ImportResult],
) -> None:
    store, _ = make_demo(str(made[0]))
    with store:
        ours, theirs = shop_with_materials(store), store.shop
        assert set(ours.prices) == set(theirs.prices)
        assert (ours.fabrics, ours.same_mill) == (theirs.fabrics, theirs.same_mill)
        shelf = product_shelf(store, "backing")
        assert shelf.not_described == ()
        assert all(each.used.runs and each.price is not None for each in shelf.products)
        unwritten = {each.kept.material.supplier for each in shelf.products if each.lots_not_listed}
        assert unwritten == {"Dogwood"}
        (film,) = product_shelf(store, "topping").products
        assert film.used.runs > 900
        assert {each.version for each in products(store, "backing")} == {1}


def test_a_folder_of_something_else_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("not a book")
    with pytest.raises(NotABook):
        make_demo(str(tmp_path))
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]
