"""Photos on the form: shown small, kept with what is typed, with the run once it is logged."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from streamlit.testing.v1 import AppTest

from logbook.book.draft_photos import MOST_PHOTOS
from logbook.book.photos import photos_of
from logbook.errors import IntakeError
from logbook.store.duckdb_store import DuckStore


def _photo(red: int) -> bytes:
    drawn = BytesIO()
    Image.new("RGB", (640, 480), (red, 40, 40)).save(drawn, format="JPEG")
    return drawn.getvalue()


def _button(app: AppTest, words: str) -> Any:
    return next(each for each in app.button if words in each.label)


def _words(app: AppTest) -> str:
    shown = [*app.markdown, *app.info, *app.error, *app.success, *app.warning, *app.caption]
    return "\n".join(each.value for each in shown)


def _again(app: AppTest) -> AppTest:
    """The same page in a service that was started anew: a new session, the same address."""
    again = AppTest.from_file(str(app._script_path), default_timeout=30).switch_page("views/log.py")
    for name, value in app.query_params.items():
        again.query_params[name] = value
    return again.run()


def _choose(app: AppTest, *reds: int) -> None:
    files = [(f"IMG_{red}.jpg", _photo(red), "image/jpeg") for red in reds]
    app.file_uploader[0].set_value(files).run()
    assert not app.exception


def _with_puckering(app: AppTest) -> AppTest:
    app.run()
    _button(app, "Something went wrong").click().run()
    app.number_input(key="run.puckering").set_value(2).run()
    return app


def _new_refs(store: DuckStore) -> list[str]:
    return [ref for ref in store.runs()["run_ref"].to_list() if ref != "R-1"]


def _drafts(store: DuckStore) -> list[str]:
    assert store.folder is not None
    return sorted(path.name for path in (store.folder / "drafts").iterdir())


def test_photos_chosen_are_shown_and_removed_one_by_one(
    with_one_run: DuckStore, app: AppTest
) -> None:
    _with_puckering(app)
    _choose(app, 200, 100)
    assert "2 photos, kept with the run when it is logged." in _words(app)
    assert [each.proto.imgs[0].alt for each in app.image] == [
        "Photo 1 of the defect",
        "Photo 2 of the defect",
    ]
    assert app.file_uploader[0].value == []  # taken in: the field is ready for more
    _button(app, "Remove photo 1").click().run()
    _choose(app, 150)
    assert "2 photos, kept" in _words(app)
    _button(app, "Log it: puckering 2").click().run()
    (ref,) = _new_refs(with_one_run)
    assert "2 photos kept with it." in _words(app)
    reds = []
    for path in photos_of(with_one_run, ref):
        with Image.open(path) as kept:
            reds.append(kept.getpixel((0, 0))[0] // 10 * 10)  # type: ignore[index]
    assert reds == [100, 150]
    assert _drafts(with_one_run) == [f"{ref}.json"]


def test_photos_are_here_again_in_a_new_session_and_kept_with_the_run(
    with_one_run: DuckStore, app: AppTest
) -> None:
    _with_puckering(app)
    _choose(app, 200, 100)
    again = _again(app)
    assert not again.exception
    assert "2 photos are here from before." in _words(again)
    assert "Photo 2, from before" in _words(again)
    _choose(again, 150)
    assert "2 photos are here from before." in _words(again)
    assert "3 photos, kept" in _words(again)
    _button(again, "Log it: puckering 2").click().run()
    (ref,) = _new_refs(with_one_run)
    assert len(photos_of(with_one_run, ref)) == 3
    kinds = {card.content["kind"] for card in with_one_run.documents("photos", about=ref)}
    assert kinds == {"puckering"}


def test_a_photo_alone_is_kept_and_nothing_is_left_when_it_is_removed(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _button(app, "Something went wrong").click().run()
    _choose(app, 200)
    again = _again(app)
    assert "1 photo is here from before." in _words(again)
    _button(app, "Remove photo 1").click().run()
    assert _drafts(with_one_run) == []


def test_what_it_shows_is_kept_too(with_one_run: DuckStore, app: AppTest) -> None:
    _with_puckering(app)
    app.number_input(key="run.gaps").set_value(1).run()
    _choose(app, 200)
    app.button_group(key="run.photo_kind").set_value("gaps").run()
    again = _again(app)
    assert again.button_group(key="run.photo_kind").value == "gaps"
    _button(again, "Log it").click().run()
    (ref,) = _new_refs(with_one_run)
    (card,) = with_one_run.documents("photos", about=ref)
    assert card.content["kind"] == "gaps"


def test_a_kind_that_is_counted_no_more_is_not_what_it_shows(
    with_one_run: DuckStore, app: AppTest
) -> None:
    _with_puckering(app)
    for name in ("gaps", "looping"):
        app.number_input(key=f"run.{name}").set_value(1).run()
    _choose(app, 200)
    app.button_group(key="run.photo_kind").set_value("gaps").run()
    app.number_input(key="run.gaps").set_value(0).run()
    assert not app.exception
    assert app.button_group(key="run.photo_kind").value is None


def test_what_cannot_be_kept_is_said_by_its_name(with_one_run: DuckStore, app: AppTest) -> None:
    _with_puckering(app)
    files = [("bill.jpg", b"%PDF", "image/jpeg"), ("a.jpg", _photo(9), "image/jpeg")]
    app.file_uploader[0].set_value(files).run()
    assert r"bill.jpg\: This is no photo of a known sort." in _words(app)
    assert "1 photo, kept" in _words(app)
    _choose(app, *range(20, 20 + 12 * MOST_PHOTOS, 12))
    assert f"holds at most {MOST_PHOTOS} photos" in _words(app)
    assert "bill.jpg" not in _words(app)
    assert f"{MOST_PHOTOS} photos, kept" in _words(app)


def test_photos_stay_in_sight_when_nothing_went_wrong_after_all(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _button(app, "Something went wrong").click().run()
    _choose(app, 200)
    _button(app, "Nothing after all").click().run()
    assert _button(app, "Remove photo 1")


def test_clearing_the_form_takes_its_photos_away(with_one_run: DuckStore, app: AppTest) -> None:
    _with_puckering(app)
    _choose(app, 200)
    again = _again(app)
    _button(again, "Clear it").click().run()
    assert not again.exception
    assert _drafts(with_one_run) == []
    assert not again.image


def test_a_service_stopped_between_the_run_and_its_photos_keeps_them_later(
    with_one_run: DuckStore, app: AppTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    _with_puckering(app)
    _choose(app, 200)
    address = app.query_params["draft"]

    def stopped(*_: object) -> int:
        raise IntakeError("stopped before the photos")

    with monkeypatch.context() as cut:
        cut.setattr("dashboards.run_entry.held.take_over", stopped)
        _button(app, "Log it: puckering 2").click().run()
    (ref,) = _new_refs(with_one_run)
    assert "stopped before the photos" in _words(app)
    assert photos_of(with_one_run, ref) == ()
    again = AppTest.from_file(str(app._script_path), default_timeout=30).switch_page("views/log.py")
    again.query_params["draft"] = address
    again.run()
    assert not again.exception
    assert len(photos_of(with_one_run, ref)) == 1
    assert _drafts(with_one_run) == []


def test_photos_that_could_not_be_kept_are_kept_on_asking(
    with_one_run: DuckStore, app: AppTest
) -> None:
    _with_puckering(app)
    _choose(app, 200)
    assert with_one_run.folder is not None
    photos: Path = with_one_run.folder / "photos"
    photos.rmdir()
    photos.write_text("in the way", encoding="utf-8")
    _button(app, "Log it: puckering 2").click().run()
    (ref,) = _new_refs(with_one_run)
    assert "cannot be made" in _words(app)
    photos.unlink()
    app.session_state["run.started_at"] = None
    _button(app, "Log the next run").click().run()
    assert "cannot be made" in _words(app)
    _button(app, "Keep the photos now").click().run()
    assert "cannot be made" not in _words(app)
    assert len(photos_of(with_one_run, ref)) == 1


def test_a_run_taken_back_gives_its_photos_to_the_one_logged_in_its_stead(
    with_one_run: DuckStore, app: AppTest
) -> None:
    _with_puckering(app)
    _choose(app, 200)
    _button(app, "Log it: puckering 2").click().run()
    (first,) = _new_refs(with_one_run)
    _button(app, f"Take run {first} back").click().run()
    assert not app.exception
    assert "1 photo, kept" in _words(app)
    app.number_input(key="run.puckering").set_value(3).run()
    _button(app, "Log it: puckering 3").click().run()
    (second,) = _new_refs(with_one_run)
    assert second != first
    assert len(photos_of(with_one_run, second)) == 1
