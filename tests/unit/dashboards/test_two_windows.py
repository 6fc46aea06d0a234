"""One form in two windows: the run is logged once, and what the other window holds is not lost."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from streamlit.testing.v1 import AppTest

from logbook.book.draft_photos import hold_photo, photos_of_draft
from logbook.book.drafts import draft_of, keep_draft
from logbook.book.photos import photos_of
from logbook.store.duckdb_store import DuckStore

NEXT_REF = "F-AAAA-2222"
OTHER_PIECES = "These were other pieces: log them too"


def _photo(red: int = 200) -> bytes:
    drawn = BytesIO()
    Image.new("RGB", (640, 480), (red, 40, 40)).save(drawn, format="JPEG")
    return drawn.getvalue()


def _press(app: AppTest, words: str) -> AppTest:
    next(each for each in app.button if words in each.label).click().run()
    assert not app.exception
    return app


def _labels(app: AppTest) -> str:
    return "\n".join(each.label for each in app.button)


def _words(app: AppTest) -> str:
    shown = [*app.markdown, *app.info, *app.error, *app.success, *app.warning, *app.caption]
    return "\n".join(each.value for each in shown).replace("\\", "")


def _count(app: AppTest, puckering: int) -> AppTest:
    app.number_input(key="run.puckering").set_value(puckering).run()
    assert not app.exception
    return app


def _choose(app: AppTest) -> AppTest:
    app.file_uploader[0].set_value([("IMG_1.jpg", _photo(), "image/jpeg")]).run()
    assert not app.exception
    return app


def _window(app: AppTest, draft: str | None = None) -> AppTest:
    """Another window, or the same one loaded anew: a new session at the same address."""
    other = AppTest.from_file(str(app._script_path), default_timeout=120).switch_page(
        "views/log.py"
    )
    for name, value in app.query_params.items():
        other.query_params[name] = value
    if draft is not None:
        other.query_params["draft"] = draft
    other.run()
    assert not other.exception
    return other


def _two_windows(app: AppTest) -> tuple[AppTest, AppTest, str]:
    """Two windows in which 2 pieces puckered, and the reference of both."""
    _press(app.run(), "Something went wrong")
    _count(app, 2)
    ref = app.session_state["run.run_ref"]
    return app, _window(app), ref


def _new_runs(store: DuckStore) -> dict[str, dict[str, Any]]:
    runs = {run["run_ref"]: run for run in store.runs().iter_rows(named=True)}
    return {ref: run for ref, run in runs.items() if ref != "R-1"}


def _drafts(store: DuckStore) -> Path:
    assert store.folder is not None
    return store.folder / "drafts"


def test_photos_go_with_the_run_that_is_logged_first_and_the_other_window_says_so(
    with_one_run: DuckStore, app: AppTest
) -> None:
    first, second, ref = _two_windows(app)
    _count(_choose(second), 3)
    _press(first, "Log it: puckering 2")
    assert len(photos_of(with_one_run, ref)) == 1
    _press(second, "Log it: puckering 3")
    assert "Nothing was logged a second time." in _words(second)
    assert f"The photos are with run {ref}." in _words(second)
    _press(second, OTHER_PIECES)
    runs = _new_runs(with_one_run)
    assert sorted(run["puckering"] for run in runs.values()) == [2, 3]
    assert {each: len(photos_of(with_one_run, each)) for each in runs} == dict.fromkeys(runs, 0) | {
        ref: 1
    }


def test_without_photos_the_other_window_says_nothing_of_them(
    with_one_run: DuckStore, app: AppTest
) -> None:
    first, second, _ = _two_windows(app)
    _count(second, 3)
    _press(first, "Log it: puckering 2")
    _press(second, "Log it: puckering 3")
    assert "Nothing was logged a second time." in _words(second)
    assert "The photos are with" not in _words(second)


def test_other_pieces_are_not_logged_without_their_photos(
    with_one_run: DuckStore, app: AppTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second, ref = _two_windows(app)
    _press(first, "Log it: puckering 2")
    _choose(_count(second, 3))
    _press(second, "Log it: puckering 3")
    monkeypatch.setattr("dashboards.run_entry.saving.new_reference", lambda: NEXT_REF)
    in_the_way = _drafts(with_one_run) / NEXT_REF
    in_the_way.write_text("in the way", encoding="utf-8")
    _press(second, OTHER_PIECES)
    assert list(_new_runs(with_one_run)) == [ref]
    assert f"{in_the_way} cannot be made" in _words(second)
    assert "1 photo, kept with the run when it is logged." in _words(second)
    assert not in_the_way.with_suffix(".json").exists()
    in_the_way.unlink()
    _press(second, OTHER_PIECES)
    runs = _new_runs(with_one_run)
    assert {each: run["puckering"] for each, run in runs.items()} == {ref: 2, NEXT_REF: 3}
    assert len(photos_of(with_one_run, NEXT_REF)) == 1
    assert photos_of(with_one_run, ref) == ()


@pytest.mark.parametrize("by_address", [True, False], ids=["same address", "same device"])
def test_what_a_closed_window_held_is_offered_and_goes_on_as_another_run(
    with_one_run: DuckStore, app: AppTest, monkeypatch: pytest.MonkeyPatch, by_address: bool
) -> None:
    if not by_address:
        monkeypatch.setattr("dashboards.run_entry.held.device_named", lambda _: "phone")
    first, second, ref = _two_windows(app)
    _press(first, "Log it: puckering 2")
    _choose(_count(second, 3))
    second.text_area(key="run.notes").set_value("hoop slipped").run()
    _press(second, "Log it: puckering 3")
    again = _window(second, draft=None if by_address else "F-ZZZZ-2222")
    assert f"Run {ref} was, from another window, and says something else." in _words(again)
    assert "with 1 photo" in _words(again)
    assert photos_of(with_one_run, ref) == ()
    _press(again, "Go on with it")
    assert again.number_input(key="run.puckering").value == 3
    assert again.text_area(key="run.notes").value == "hoop slipped"
    other = again.session_state["run.run_ref"]
    assert other != ref
    assert not (_drafts(with_one_run) / f"{ref}.json").exists()
    _press(_window(again), "Log it: puckering 3")
    runs = _new_runs(with_one_run)
    assert {each: run["puckering"] for each, run in runs.items()} == {ref: 2, other: 3}
    assert runs[other]["notes"] == "hoop slipped"
    assert len(photos_of(with_one_run, other)) == 1


def test_a_run_logged_as_it_was_typed_takes_its_photos_and_is_not_offered(
    with_one_run: DuckStore, app: AppTest
) -> None:
    first, _, ref = _two_windows(app)
    _press(first, "Log it: puckering 2")
    draft = draft_of(with_one_run, ref, device=None)
    assert draft is not None
    # As if the service had been stopped before it noted that the run is logged.
    keep_draft(with_one_run, replace(draft, logged=False))
    hold_photo(with_one_run, ref, _photo(), device=None)
    again = _window(first, draft=ref)
    assert "Go on with it" not in _labels(again)
    assert f"Run {ref} is logged. This is the next one." in _words(again)
    assert len(photos_of(with_one_run, ref)) == 1
    assert photos_of_draft(with_one_run, ref, device=None) == ()
    assert list(_new_runs(with_one_run)) == [ref]


def test_what_was_typed_of_a_run_taken_back_is_here_when_the_page_is_loaded_anew(
    with_one_run: DuckStore, app: AppTest
) -> None:
    first, _, ref = _two_windows(app)
    first.text_area(key="run.notes").set_value("hoop slipped").run()
    _press(first, "Log it: puckering 2")
    _press(first, f"Take run {ref} back")
    again = _window(first)
    assert again.number_input(key="run.puckering").value == 2
    assert again.text_area(key="run.notes").value == "hoop slipped"
    assert [path.name for path in _drafts(with_one_run).iterdir()] == [
        f"{again.session_state['run.run_ref']}.json"
    ]


def test_photos_that_cannot_come_along_from_a_run_taken_back_are_said(
    with_one_run: DuckStore, app: AppTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    _press(app.run(), "Something went wrong")
    _choose(app)
    ref = app.session_state["run.run_ref"]
    _press(app, "Nothing after all")
    _press(app, "Clean run: log 24 pieces")
    monkeypatch.setattr("dashboards.run_entry.saving.new_reference", lambda: NEXT_REF)
    in_the_way = _drafts(with_one_run) / NEXT_REF
    in_the_way.write_text("in the way", encoding="utf-8")
    _press(app, f"Take run {ref} back")
    assert f"{in_the_way} cannot be made" in _words(app)
    assert len(photos_of(with_one_run, ref)) == 1
