"""Logging runs of drawn designs: the file in use says the density, and defects can be placed."""

from __future__ import annotations

from typing import Any

from sewn_blocks import stitch_file
from streamlit.testing.v1 import AppTest

from logbook.book.design_files import add_design_file
from logbook.store.duckdb_store import DuckStore

OPEN, DENSE = stitch_file(), stitch_file(row_spacing_mm=0.3)


def _button(app: AppTest, words: str) -> Any:
    return next(each for each in app.button if each.label.startswith(words))


def _last(store: DuckStore) -> dict[str, Any]:
    return store.runs(newest_first=True, limit=1).row(0, named=True)


def test_the_next_run_takes_the_newest_file_not_what_was_sewn_before(
    with_one_run: DuckStore, app: AppTest
) -> None:
    store = with_one_run
    for content in (OPEN, DENSE):
        add_design_file(store, "Hare monogram", content, file_name="a.dst", source="test")
        app.run()
        _button(app, "Clean run").click().run()
        assert not app.exception
        _button(app, "Log the next run").click().run()
        # A thumb is slower than the harness.
        app.session_state["run.started_at"] = None
    first, second = (
        add_design_file(store, name, content, file_name="a.dst", source="test").design.newest
        for name, content in (("Copy 1", OPEN), ("Copy 2", DENSE))
    )
    runs = store.runs().filter(store.runs()["run_ref"] != "R-1").sort("density")
    assert runs["design_version"].to_list() == [first.digest, second.digest]
    assert runs["density"].to_list() == [first.density_densest, second.density_densest]
    assert runs["stitches_per_piece"].to_list() == [480, 480]


def test_another_design_brings_its_own_density(with_one_run: DuckStore, app: AppTest) -> None:
    store = with_one_run
    for name, content in (("Hare monogram", OPEN), ("Badge", DENSE)):
        add_design_file(store, name, content, file_name="a.dst", source="test")
    app.run()
    app.selectbox(key="run.design").set_value("Badge")
    _button(app, "Clean run").click().run()
    assert not app.exception
    run = _last(store)
    badge = add_design_file(store, "Badge", DENSE, file_name="a.dst", source="test").design.newest
    assert (run["design"], run["design_version"]) == ("Badge", badge.digest)
    assert run["density"] == badge.density_densest


def test_a_defect_on_a_drawn_design_can_be_placed_once_it_is_logged(
    with_one_run: DuckStore, app: AppTest
) -> None:
    add_design_file(with_one_run, "Hare monogram", OPEN, file_name="a.dst", source="test")
    app.run()
    assert not any("where on the design" in each.label for each in app.expander)
    _button(app, "Something went wrong").click().run()
    app.number_input(key="run.puckering").set_value(2)
    app.number_input(key="run.thread_breaks").set_value(1).run()
    _button(app, "Log it").click().run()
    assert not app.exception
    assert any("where on the design" in each.label for each in app.expander)
    assert any("Tap on the drawing" in each.value for each in app.markdown)
    assert any(each.label == "Stitch number" for each in app.number_input)
