"""What the form keeps: drafts, the next setup, rules of thumb, the order of kinds."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from logged_runs import EARLIER_RUN
from streamlit.testing.v1 import AppTest

from logbook.book.drafts import drafts_of
from logbook.book.runs import log_run, now_at
from logbook.store.duckdb_store import DuckStore


def _button(app: AppTest, words: str) -> Any:
    return next(each for each in app.button if words in each.label)


def _number(app: AppTest, name: str) -> Any:
    return app.number_input(key=f"run.{name}")


def _words(app: AppTest) -> str:
    shown = [*app.markdown, *app.info, *app.error, *app.success, *app.warning, *app.caption]
    bodies = [each.body for each in app.get("html") if not each.body.startswith("<style>")]
    return "\n".join([*(each.value for each in shown), *bodies])


def _again(app: AppTest) -> AppTest:
    """The same page in a service that was started anew: a new session, the same address."""
    again = AppTest.from_file(str(app._script_path), default_timeout=30).switch_page("views/log.py")
    for name, value in app.query_params.items():
        again.query_params[name] = value
    return again.run()


def _new_runs(store: DuckStore) -> list[dict[str, Any]]:
    return [run for run in store.runs().iter_rows(named=True) if not run["run_ref"].startswith("R")]


def test_a_form_in_which_nothing_was_typed_is_not_kept(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _button(app, "Something went wrong").click().run()
    assert with_one_run.folder is not None
    assert not (with_one_run.folder / "drafts").exists()


def test_what_was_typed_is_there_again_in_a_new_session_and_logged_once(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _number(app, "pieces_sewn").set_value(18)
    _button(app, "Something went wrong").click().run()
    _number(app, "puckering").set_value(2)
    app.text_area(key="run.notes").set_value("hoop slipped").run()
    again = _again(app)
    assert not again.exception
    assert (_number(again, "pieces_sewn").value, _number(again, "puckering").value) == (18, 2)
    assert "is here." in _words(again)
    _button(again, "Log it: puckering 2").click().run()
    _button(app, "Log it: puckering 2").click().run()
    (run,) = _new_runs(with_one_run)
    assert (run["pieces_sewn"], run["notes"]) == (18, "hoop slipped")


def test_a_run_whose_answer_was_lost_is_known_to_be_logged(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _number(app, "pieces_sewn").set_value(18).run()
    address = app.query_params["draft"]
    _button(app, "Clean run: log 18 pieces").click().run()
    (run,) = _new_runs(with_one_run)
    again = _again(app)
    assert f"Run {run['run_ref']} is logged. This is the next one." in _words(again)
    assert again.query_params["draft"] != address
    assert _number(again, "pieces_sewn").value == 18
    assert len(_new_runs(with_one_run)) == 1


def test_what_was_typed_can_be_cleared(with_one_run: DuckStore, app: AppTest) -> None:
    app.run()
    _number(app, "pieces_sewn").set_value(18).run()
    again = _again(app)
    _button(again, "Clear it").click().run()
    assert not again.exception
    assert _number(again, "pieces_sewn").value == 24
    assert with_one_run.folder is not None
    assert list((with_one_run.folder / "drafts").iterdir()) == []
    assert drafts_of(with_one_run, device=None) == ()


def test_a_tap_meant_for_the_page_before_logs_nothing(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    app.button(key="log_it").click().run()
    _button(app, "Log the next run").click()
    app.run()
    app.session_state["run.started_at"] = float("inf")  # as if it were opened this very moment
    app.button(key="log_it").click().run()
    assert len(_new_runs(with_one_run)) == 1
    app.session_state["run.started_at"] = 0.0
    app.button(key="log_it").click().run()
    assert len(_new_runs(with_one_run)) == 2


def test_the_confirmation_gives_way_to_the_next_form(with_one_run: DuckStore, app: AppTest) -> None:
    app.run()
    app.button(key="log_it").click().run()
    (run,) = _new_runs(with_one_run)
    app.session_state["run.logged_at"] = now_at(with_one_run) - timedelta(minutes=3)
    app.run()
    assert not app.exception
    assert _button(app, "Clean run: log 24 pieces")
    # The run before can still be taken back, and the form at hand stays.
    _button(app, f"Take run {run['run_ref']} back").click().run()
    assert _new_runs(with_one_run) == []
    assert _number(app, "pieces_sewn").value == 24


def test_a_held_run_stays_on_the_screen_and_says_how_it_is_released(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _button(app, "Something went wrong").click().run()
    _number(app, "needle_breaks").set_value(1).run()
    app.button_group(key="run.needle_parts_found").set_value(False).run()
    _button(app, "Log and hold: needle breaks 1").click().run()
    app.session_state["run.logged_at"] = now_at(with_one_run) - timedelta(hours=3)
    app.run()
    (run,) = _new_runs(with_one_run)
    assert "logged and held" in _words(app)
    assert f"Then a reviewer releases the run: [open run {run['run_ref']}]" in _words(app)


def test_a_change_of_setup_begins_the_next_run_with_the_same_job(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _button(app, "Change the setup now").click().run()
    assert _number(app, "pieces_sewn").value is None
    _button(app, "Log the pieces so far").click().run()
    assert "How many pieces were sewn?" in _words(app)
    _number(app, "pieces_sewn").set_value(10).run()
    _button(app, "Log 10 pieces so far, then change").click().run()
    assert not app.exception
    assert "What is left of 24 pieces" in _words(app)
    app.button_group(key="run.parts_changing").set_value(["Speed"]).run()
    assert not app.exception
    app.session_state["run.started_at"] = None
    _number(app, "speed_spm").set_value(680.0).run()
    _button(app, "Clean run: log 14 pieces").click().run()
    assert not app.exception
    first, second = sorted(_new_runs(with_one_run), key=lambda run: run["pieces_sewn"])
    assert (first["pieces_sewn"], first["speed_spm"]) == (10, 750)
    assert (second["pieces_sewn"], second["speed_spm"], second["job"]) == (14, 680, "J4628")
    _button(app, "Log the next run").click().run()
    assert _number(app, "pieces_sewn").value == 24


def test_no_change_after_all_leaves_the_form_as_it_was(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _button(app, "Change the setup now").click().run()
    _button(app, "No change after all").click().run()
    assert _button(app, "Clean run: log 24 pieces")
    assert with_one_run.count() == 1


def test_a_known_job_brings_its_own_setup(with_one_run: DuckStore, app: AppTest) -> None:
    other = {**EARLIER_RUN, "run_ref": "R-2", "job": "J9", "design": "Fox", "pieces_sewn": 40}
    other |= {"finished_at": datetime(2026, 10, 1), "operator": "Sade B.", "pieces_inspected": 40}
    log_run(with_one_run, other, source="test")
    app.run()
    app.selectbox(key="run.job").set_value("J9").run()
    assert not app.exception
    assert app.selectbox(key="run.design").value == "Fox"
    assert app.selectbox(key="run.operator").value == "Noor A."
    assert _button(app, "Clean run: log 40 pieces")


def test_pieces_told_outlive_a_change_of_machine(with_one_run: DuckStore, app: AppTest) -> None:
    other = {**EARLIER_RUN, "run_ref": "R-2", "machine": "M2", "pieces_sewn": 40}
    log_run(with_one_run, {**other, "finished_at": datetime(2026, 10, 1)}, source="test")
    app.run()
    app.button_group(key="run.machine_button").set_value("M2").run()
    assert _number(app, "pieces_sewn").value == 40
    _number(app, "pieces_sewn").set_value(18).run()
    app.button_group(key="run.machine_button").set_value("M1").run()
    assert _number(app, "pieces_sewn").value == 18


def test_where_not_all_were_inspected_last_time_the_button_says_all(
    with_one_run: DuckStore, app: AppTest
) -> None:
    later = {**EARLIER_RUN, "run_ref": "R-2", "pieces_inspected": 12}
    log_run(with_one_run, {**later, "finished_at": datetime(2026, 10, 6)}, source="test")
    app.run()
    assert "not all of them inspected" in _words(app)
    assert _button(app, "Clean run: log 24 pieces, all inspected")


@pytest.mark.parametrize(("backing", "said"), [("tear_away", True), ("cut_away", False)])
def test_rules_of_thumb_speak_before_sewing_and_never_block(
    with_one_run: DuckStore, app: AppTest, backing: str, said: bool
) -> None:
    app.run()
    app.selectbox(key="run.fabric").set_value("Performance knit")
    app.selectbox(key="run.backing").set_value(backing).run()
    assert ("stretchy cloth is backed with tear-away alone" in _words(app)) is said
    assert ("Common practice (sources agree)" in _words(app)) is said
    _button(app, "Clean run: log 24 pieces").click().run()
    assert len(_new_runs(with_one_run)) == 1


def test_kinds_of_this_machine_and_fabric_come_before_the_shops(
    with_one_run: DuckStore, app: AppTest
) -> None:
    other = {**EARLIER_RUN, "run_ref": "R-2", "machine": "M2", "fabric": "twill", "hoop_marks": 0}
    other |= {"finished_at": datetime(2026, 10, 5, 9), "gaps": 20, "pieces_defective": 20}
    log_run(with_one_run, other, source="test")
    for machine, first in (("M1", "hoop_marks"), ("M2", "gaps")):
        app.query_params["machine"] = machine
        page = _again(app)
        _button(page, "Something went wrong").click().run()
        asked = [each.key.removeprefix("run.") for each in page.number_input]
        assert next(name for name in asked if name in ("hoop_marks", "gaps")) == first
