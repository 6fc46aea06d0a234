"""The page of designs: nothing known yet, a name without a file, a file with marks and breaks."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from logged_runs import empty_book
from sewn_blocks import stitch_file
from streamlit.testing.v1 import AppTest

from logbook.book.defect_locations import add_locations
from logbook.book.design_files import add_design_file
from logbook.book.designs import design
from logbook.book.runs import log_run
from logbook.questions.places.asking import places_on
from logbook.runs.defect_locations import BreakLocation, DefectLocation
from logbook.store.duckdb_store import DuckStore


@pytest.fixture
def page(app: AppTest) -> AppTest:
    app.switch_page("views/designs.py")
    return app


def _words(app: AppTest) -> str:
    every = (*app.markdown, *app.info, *app.caption, *app.success)
    return "\n".join(each.value for each in every).replace("\\:", ":")


def _marked_book(store: DuckStore) -> None:
    add_design_file(store, "Crest <b>", stitch_file(), file_name="a.dst", source="test")
    middle = places_on(store, "Crest <b>").measurement.density.densest_at_mm
    spread = np.random.default_rng(1).uniform(-1, 1, (8, 2))
    for number, (x, y) in enumerate(spread):
        told = {"run_ref": f"R-{number}", "design": "Crest <b>", "machine": "M2", "head_count": 4}
        told |= {"pieces_inspected": 9, "pieces_sewn": 9, "puckering": 1, "thread_breaks": 2}
        log_run(store, told, source="test")
        place = DefectLocation("puckering", middle[0] + x, middle[1] + y)
        breaks = (BreakLocation("thread_breaks", head=3),) * 2
        add_locations(store, f"R-{number}", places=[place], breaks=breaks, source="test")


def test_an_empty_book_asks_for_the_first_file(page: AppTest, without_runs: DuckStore) -> None:
    page.run()
    assert not page.exception
    assert "No design is known yet" in _words(page)


def test_a_design_without_a_file_says_so(page: AppTest, without_runs: DuckStore) -> None:
    log_run(without_runs, {"design": "Crest", "pieces_inspected": 3, "gaps": 0}, source="test")
    page.run()
    assert not page.exception
    assert "the book holds no stitch file of it" in _words(page)
    assert "5 from 3 runs of one machine or design are needed" in _words(page)


def test_marks_and_breaks_are_said_in_words(
    page: AppTest, held: Callable[[DuckStore], DuckStore], tmp_path: Path
) -> None:
    _marked_book(held(empty_book(tmp_path / "marked")))
    page.run()
    assert not page.exception
    words = _words(page)
    assert "480 stitches in 2 colours" in words
    assert "8 marks from 8 runs" in words
    assert "Mostly one head: 16 of 16 breaks of machine M2 from 8 runs" in words
    assert "thread its whole path anew" in words
    assert "with the machine stopped" in words
    assert "<b>" not in words


def test_the_address_names_the_design(
    page: AppTest, held: Callable[[DuckStore], DuckStore], tmp_path: Path
) -> None:
    store = held(empty_book(tmp_path / "two"))
    for name in ("Anchor", "Badge"):
        add_design_file(store, name, stitch_file(), file_name="a.dst", source="test")
    page.query_params["design"] = "Badge"
    page.run()
    assert page.selectbox[0].value == "Badge"
    page.selectbox[0].select("Anchor").run()
    assert page.query_params["design"] == "Anchor"


def test_the_design_with_most_marks_is_shown_first_then_the_one_sewn_most(
    page: AppTest, held: Callable[[DuckStore], DuckStore], tmp_path: Path
) -> None:
    store = held(empty_book(tmp_path / "three"))
    for name in ("Anchor", "Badge", "Crest"):
        add_design_file(store, name, stitch_file(), file_name="a.dst", source="test")
    for name, pieces in (("Anchor", 5), ("Badge", 20), ("Crest", 10)):
        told = {"run_ref": f"R-{name}", "design": name, "pieces_inspected": pieces}
        log_run(store, told | {"pieces_sewn": pieces, "puckering": 2}, source="test")
    page.run()
    assert page.selectbox[0].options == ["Anchor", "Badge", "Crest"]
    assert page.selectbox[0].value == "Badge"
    del page.query_params["design"]
    add_locations(store, "R-Crest", places=[DefectLocation("puckering", 8, 8)], source="test")
    page.run()
    assert page.selectbox[0].value == "Crest"


def test_needles_are_kept_for_each_colour_step(
    page: AppTest, held: Callable[[DuckStore], DuckStore], tmp_path: Path
) -> None:
    store = held(empty_book(tmp_path / "needles"))
    add_design_file(store, "Anchor", stitch_file(), file_name="a.dst", source="test")
    page.run()
    steps = [each for each in page.number_input if each.label.startswith("Needle of step")]
    assert [each.label for each in steps] == ["Needle of step 1", "Needle of step 2"]
    steps[0].set_value(4)
    keep = next(each for each in page.button if each.label == "Keep the needles")
    keep.click().run()
    assert any("every colour step" in each.value for each in page.error)
    steps = [each for each in page.number_input if each.label.startswith("Needle of step")]
    steps[0].set_value(4)
    steps[1].set_value(7)
    next(each for each in page.button if each.label == "Keep the needles").click().run()
    assert not page.exception
    found = design(store, "Anchor")
    assert found is not None
    assert found.newest.needles == (4, 7)
