"""The page on runs: empty book first, then found, opened, put right."""

from __future__ import annotations

from collections.abc import Mapping
from io import BytesIO
from typing import Any

import pytest
from logged_runs import EARLIER_RUN
from PIL import Image
from streamlit.testing.v1 import AppTest

from dashboards.run_pages.words import came_from, said
from dashboards.shared import column_of
from logbook.book.photos import keep_picture, picture_of
from logbook.book.run_words import outcome
from logbook.book.runs import amend_run, log_run, withdraw_run
from logbook.store.duckdb_store import DuckStore
from logbook.vocabulary import DEFECT_KINDS

VIEW = "views/runs.py"


def opened(app: AppTest, address: Mapping[str, str] | None = None) -> AppTest:
    app.run()
    app.switch_page(VIEW)
    for name, value in (address or {}).items():
        app.query_params[name] = value
    app.run()
    assert not app.exception
    return app


def shown(app: AppTest) -> str:
    """Everything on the page, without the style sheets."""
    texts = [*app.markdown, *app.info, *app.warning, *app.error, *app.success, *app.caption]
    html = [each.body.partition("<style>")[0] for each in app.get("html")]
    return "\n".join([*(each.value.replace("\\", "") for each in texts), *html])


def address(app: AppTest) -> dict[str, Any]:
    return {
        name: value[0] if isinstance(value, list) else value
        for name, value in app.query_params.items()
    }


def tap(app: AppTest, label: str) -> AppTest:
    next(each for each in app.button if each.label == label).click().run()
    assert not app.exception
    return app


def test_an_empty_book_says_what_will_be_here(without_runs: DuckStore, app: AppTest) -> None:
    opened(app)
    assert "This book has no runs yet." in app.info[0].value
    assert not app.text_input


def test_one_run_is_found_and_said_in_words(with_one_run: DuckStore, app: AppTest) -> None:
    opened(app)
    words = shown(app)
    assert "One run." in words
    assert "Mon 5 Oct 2026, 14:30" in words
    assert "Hoop marks 1, thread breaks 2" in words
    assert "Cut-away" in words
    assert "cut_away" not in words
    assert 'href="?run=R-1"' in words


def test_no_match_is_said_kindly(with_one_run: DuckStore, app: AppTest) -> None:
    opened(app, {"find": "zebra"})
    assert "No run matches." in shown(app)
    assert "Show all runs" in shown(app)


def test_filters_are_read_from_the_address_and_kept_there(
    with_one_run: DuckStore, app: AppTest
) -> None:
    asked = {"find": "hare", "since": "2026-10-01", "until": "2026-10-31", "showing": "hoop_marks"}
    opened(app, asked)
    assert "One run matches." in shown(app)
    assert address(app) == asked
    assert app.text_input(key="runs-find").value == "hare"
    assert app.selectbox(key="runs-showing").value == "hoop_marks"
    app.selectbox(key="runs-showing").set_value("puckering").run()
    assert address(app) == asked | {"showing": "puckering"}
    assert "No run matches." in shown(app)
    app.checkbox(key="runs-held").check().run()
    assert address(app)["held"] == "yes"
    # A link to a run keeps them, so that the way back leads to the same list.
    app.selectbox(key="runs-showing").set_value("").run()
    app.checkbox(key="runs-held").uncheck().run()
    assert "until=2026-10-31&amp;run=R-1" in shown(app)


def test_runs_are_narrowed_to_one_value_of_any_column(
    with_one_run: DuckStore, app: AppTest
) -> None:
    other = EARLIER_RUN | {"run_ref": "R-2", "backing_lot": "A2431", "needle_nm": 80}
    log_run(with_one_run, other, source="test")
    opened(app, {"backing_lot": "A2431"})
    assert "One run matches." in shown(app)
    assert app.selectbox(key="runs-backing_lot").value == "A2431"
    app.multiselect(key="runs-columns").set_value(["backing_lot", "needle_nm"]).run()
    assert app.selectbox(key="runs-needle_nm").options == ["75 Nm", "80 Nm"]
    app.selectbox(key="runs-needle_nm").set_value(75).run()
    assert "No run matches." in shown(app)
    assert address(app) == {"backing_lot": "A2431", "needle_nm": "75"}
    app.multiselect(key="runs-columns").set_value([]).run()
    assert address(app) == {}


@pytest.mark.parametrize(
    ("asked", "says", "kept"),
    [
        ({"speed_spm": "510"}, "One run matches.", {"speed_spm": "510"}),
        ({"backing_lot": "Z1"}, "No run matches.", {"backing_lot": "Z1"}),
        ({"customer": "not recorded"}, "2 runs match", {"customer": "not recorded"}),
        ({"needle_nm": "thick", "speed_spm": "510"}, "needle_nm is", {"speed_spm": "510"}),
    ],
)
def test_an_address_asks_for_any_column_and_for_what_no_run_has(
    with_one_run: DuckStore,
    app: AppTest,
    asked: dict[str, str],
    says: str,
    kept: dict[str, str],
) -> None:
    log_run(with_one_run, EARLIER_RUN | {"run_ref": "R-2", "speed_spm": 510}, source="form")
    opened(app, asked)
    assert says in "\n".join([shown(app), *(str(each.value) for each in app.error)])
    assert address(app) == kept


@pytest.mark.parametrize(
    "nonsense", [{"since": "yesterday"}, {"showing": "rust"}, {"page": "-7"}, {"held": "perhaps"}]
)
def test_an_address_that_makes_no_sense_is_passed_over(
    with_one_run: DuckStore, app: AppTest, nonsense: dict[str, str]
) -> None:
    opened(app, nonsense)
    assert "One run." in shown(app)
    assert address(app) == {}


def test_a_run_that_is_not_there(with_one_run: DuckStore, app: AppTest) -> None:
    opened(app, {"run": "R-99"})
    assert "There is no run R-99 in this book." in shown(app)


def test_a_run_says_all_that_was_recorded_and_its_history(
    with_one_run: DuckStore, app: AppTest
) -> None:
    amend_run(with_one_run, "R-1", {"thread_breaks": 5}, why="counted again", source="api")
    opened(app, {"run": "R-1"})
    words = shown(app)
    assert "<dt>Hoop marks</dt><dd>1 piece of 24 (4.2 %)</dd>" in words
    assert "<dt>Needle size</dt><dd>75/11</dd>" in words
    assert "over HTTP. Why: counted again" in words
    assert "Thread breaks: 2 events → 5 events" in words
    assert "thread_breaks" not in words
    assert "puckering" in words  # among what was not recorded


def _choose(app: AppTest, name: str, version: int) -> None:
    app.multiselect(key=f"fix-R-1-{version}").set_value([name]).run()


def test_a_correction_goes_through_the_door_and_into_the_history(
    with_one_run: DuckStore, app: AppTest
) -> None:
    opened(app, {"run": "R-1"})
    _choose(app, "thread_breaks", 1)
    app.number_input(key="to-R-1-1-thread_breaks").set_value(3).run()
    tap(app, "Save the correction")
    assert "Say why" in shown(app)
    assert with_one_run.runs()["thread_breaks"].item() == 2
    app.text_input(key="why-R-1-1").set_value("counted again").run()
    tap(app, "Save the correction")
    assert "The run R-1 is corrected." in shown(app)
    assert with_one_run.runs()["thread_breaks"].item() == 3
    last = with_one_run.history("R-1")[-1]
    assert (last.why, last.source) == ("counted again", "Runs page")


def test_the_pieces_with_any_defect_go_along_with_the_count_they_came_from(
    with_one_run: DuckStore, app: AppTest
) -> None:
    none_seen = {each.name: 0 for each in DEFECT_KINDS if each.measure == "pieces"}
    del none_seen["hoop_marks"]
    amend_run(with_one_run, "R-1", none_seen, why=None, source="test")
    opened(app, {"run": "R-1"})
    _choose(app, "hoop_marks", 2)
    app.number_input(key="to-R-1-2-hoop_marks").set_value(4).run()
    app.text_input(key="why-R-1-2").set_value("counted again").run()
    tap(app, "Save the correction")
    assert "Pieces with any defect went along: 4 now." in shown(app)
    run = with_one_run.runs().row(0, named=True)
    assert (run["hoop_marks"], run["pieces_defective"]) == (4, 4)


def test_a_correction_that_cannot_be_true_is_refused_in_the_pages_words(
    with_one_run: DuckStore, app: AppTest
) -> None:
    opened(app, {"run": "R-1"})
    _choose(app, "hoop_marks", 1)
    app.number_input(key="to-R-1-1-hoop_marks").set_value(30).run()
    app.text_input(key="why-R-1-1").set_value("counted again").run()
    tap(app, "Save the correction")
    assert "The run was not changed." in shown(app)
    assert "Hoop marks is 30, but only 24 pieces were inspected" in app.error[0].value
    assert "hoop_marks" not in app.error[0].value
    assert with_one_run.count() == 1
    assert len(with_one_run.history("R-1")) == 1


def test_a_run_changed_meanwhile_is_not_overwritten(with_one_run: DuckStore, app: AppTest) -> None:
    opened(app, {"run": "R-1"})
    _choose(app, "thread_breaks", 1)
    app.number_input(key="to-R-1-1-thread_breaks").set_value(3).run()
    app.text_input(key="why-R-1-1").set_value("counted again").run()
    amend_run(with_one_run, "R-1", {"thread_breaks": 5}, why="other eyes", source="api")
    tap(app, "Save the correction")
    assert "Nothing was overwritten" in shown(app)
    assert "thread breaks 3 events" in shown(app)
    assert "Why: other eyes" in shown(app)
    assert with_one_run.runs()["thread_breaks"].item() == 5


def test_a_withdrawn_run_says_why_and_is_not_corrected(
    with_one_run: DuckStore, app: AppTest
) -> None:
    opened(app, {"run": "R-1"})
    tap(app, "Withdraw it")
    assert with_one_run.count() == 1
    app.text_input(key="withdraw-R-1-1").set_value("entered twice").run()
    tap(app, "Withdraw it")
    assert with_one_run.count() == 0
    assert "Why: entered twice" in shown(app)
    assert "The run R-1 is withdrawn." in shown(app)
    assert not app.multiselect
    with pytest.raises(Exception, match="withdrawn"):
        withdraw_run(with_one_run, "R-1", why="again", source="test")


def test_a_held_run_is_released_once_the_parts_are_found(
    with_one_run: DuckStore, app: AppTest
) -> None:
    held = {**EARLIER_RUN, "run_ref": "R-2", "needle_breaks": 1, "needle_parts_found": False}
    log_run(with_one_run, held, source="test")
    opened(app, {"held": "yes"})
    assert "One run matches." in shown(app)
    app.query_params["run"] = "R-2"
    app.run()
    assert any("This run is held" in each.value for each in app.error)
    release = next(each for each in app.button if each.label == "Release the run")
    assert release.disabled
    app.checkbox(key="release-R-2-1-found").check().run()
    app.text_input(key="release-R-2-1").set_value("under the hoop, Noor").run()
    tap(app, "Release the run")
    assert not app.error
    assert with_one_run.runs(refs=["R-2"])["needle_parts_found"].item() is True


def test_what_is_miscounted_most_is_offered_first(with_one_run: DuckStore, app: AppTest) -> None:
    opened(app, {"run": "R-1"})
    offered = app.multiselect(key="fix-R-1-1").options
    kinds = [kind.label for kind in with_one_run.shop.kinds]
    assert sorted(offered[: len(kinds)]) == sorted(kinds)
    pieces = offered[len(kinds) : len(kinds) + 6]
    assert all(label.startswith("Pieces ") for label in pieces)
    assert offered[len(kinds) + 6 :][:2] == ["Finished", "Site"]
    assert "Run reference" not in offered


def test_where_a_version_came_from_is_said_in_words() -> None:
    assert came_from("form") == "from the form"
    assert came_from("api") == "over HTTP"
    assert came_from("api, till 2") == "over HTTP (till 2)"
    assert came_from("command line") == "from the command line"
    assert came_from("week 12.csv") == "from week 12.csv"


def test_values_are_said_as_recorded() -> None:
    assert said(column_of("row_spacing_mm"), 0.42) == "0.42 mm"
    assert said(column_of("pucker_grade"), 4.5) == "4.5 (5 is smooth)"
    assert said(column_of("backing_layers"), 1) == "1 layer"
    assert said(column_of("pieces_sewn"), 1200) == "1,200 pieces"
    assert said(column_of("needle_parts_found"), True) == "Yes"
    assert said(column_of("topping"), None) == "not recorded"
    assert outcome({"pieces_defective": 0}, ()) == "Nothing wrong"
    assert outcome({}, ()) == "Not recorded"


def test_photos_are_shown_with_what_they_show(with_one_run: DuckStore, app: AppTest) -> None:
    log_run(with_one_run, {**EARLIER_RUN, "run_ref": "R-2"}, source="test")
    picture = BytesIO()
    Image.new("RGB", (40, 30), "teal").save(picture, format="PNG")
    keep_picture(with_one_run, "R-1", picture_of(picture.getvalue()), "hoop_marks")
    opened(app, {"photos": "yes"})
    assert "One run matches." in shown(app)
    assert 'run=R-1"' in shown(app)
    app.query_params["run"] = "R-1"
    app.run()
    assert not app.exception
    (image,) = app.get("image")
    assert [each.caption for each in image.proto.imgs] == ["Hoop marks"]
