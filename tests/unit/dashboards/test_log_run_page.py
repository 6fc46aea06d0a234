from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest
from logged_runs import EARLIER_RUN
from streamlit.testing.v1 import AppTest

from dashboards.run_entry.setup import WHICH_MACHINE
from logbook.book.runs import log_run
from logbook.store.duckdb_store import DuckStore
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.vocabulary.defects import DEFECT_KINDS

CLEAN = "Clean run: log"


def _button(app: AppTest, words: str) -> Any:
    return next(each for each in app.button if words in each.label)


def _number(app: AppTest, name: str) -> Any:
    return app.number_input(key=f"run.{name}")


def _next_run(app: AppTest) -> None:
    """Start the next run; the thumb is slower than the harness."""
    _button(app, "Log the next run").click().run()
    app.session_state["run.started_at"] = None


def _words(app: AppTest) -> str:
    shown = [*app.markdown, *app.info, *app.error, *app.success, *app.warning, *app.caption]
    bodies = [each.body for each in app.get("html") if not each.body.startswith("<style>")]
    return "\n".join([*(each.value for each in shown), *bodies])


def _only_new_run(store: DuckStore) -> dict[str, Any]:
    (run,) = (run for run in store.runs().iter_rows(named=True) if run["run_ref"] != "R-1")
    return run


def _trouble(app: AppTest, **counts: int) -> None:
    _number(app, "pieces_sewn").set_value(24)
    _button(app, "Something went wrong").click().run()
    for name, count in counts.items():
        _number(app, name).set_value(count)
    app.run()


def test_an_empty_book_explains_itself_and_takes_the_first_run(
    without_runs: DuckStore, app: AppTest
) -> None:
    app.run()
    assert not app.exception
    assert "This book is empty" in _words(app)
    app.text_input(key="run.machine").set_value("M7")
    app.selectbox(key="run.fabric").set_value("Piqué polo")
    app.selectbox(key="run.backing").set_value("tear_away")
    app.text_input(key="run.operator").set_value("Noor A.")
    _number(app, "pieces_sewn").set_value(6)
    _button(app, CLEAN).click().run()
    assert not app.exception
    (run,) = without_runs.runs().iter_rows(named=True)
    assert (run["machine"], run["fabric"], run["backing"]) == ("M7", "Piqué polo", "tear_away")
    assert (run["pieces_sewn"], run["operator"]) == (6, "Noor A.")
    _next_run(app)
    assert not app.exception
    assert app.selectbox(key="run.operator").value == "Noor A."
    assert app.session_state["run.machine"] == "M7"
    _number(app, "pieces_sewn").set_value(8)
    _button(app, CLEAN).click().run()
    second = without_runs.runs().sort("pieces_sewn").row(1, named=True)
    assert (second["machine"], second["operator"]) == ("M7", "Noor A.")
    assert (second["fabric"], second["backing"]) == ("Piqué polo", "tear_away")


def test_the_setup_stays_open_while_the_first_run_is_described(
    without_runs: DuckStore, app: AppTest
) -> None:
    app.run()
    (before,) = (each for each in app.expander if each.label == "Describe the setup")
    assert before.proto.expanded
    app.selectbox(key="run.fabric").set_value("Piqué polo").run()
    (after,) = (each for each in app.expander if each.label == "Describe the setup")
    assert after.proto.expanded
    _number(app, "pieces_sewn").set_value(6)
    _button(app, CLEAN).click().run()
    _next_run(app)
    (folded,) = (each for each in app.expander if each.label == "Setup of this run")
    assert not folded.proto.expanded
    assert app.selectbox(key="run.fabric").value == "Piqué polo"


def test_the_form_starts_from_the_machines_last_run_but_for_its_counts(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    assert not app.exception
    card = next(each.body for each in app.get("html") if "setup-card" in each.body)
    assert "Pique polo, light · Cut-away 60 g/m², 1 layer, Alder lot A123 · No topping" in card
    assert "75/11 light ball point · 750 stitches a minute · 6,200 stitches a piece" in card
    assert app.selectbox(key="run.backing_supplier").value == "Alder"
    assert _number(app, "stitches_per_piece").value == 6200
    assert _number(app, "pieces_sewn").value == 24
    assert _number(app, "pieces_inspected").value is None
    assert "24 last time" in _words(app)


def test_a_clean_run_records_every_kind_as_none_seen(with_one_run: DuckStore, app: AppTest) -> None:
    app.run()
    _button(app, "Clean run: log 24 pieces").click().run()
    assert not app.exception
    run = _only_new_run(with_one_run)
    assert {run[each.name] for each in DEFECT_KINDS} == {0}
    assert (run["pieces_defective"], run["pieces_spoiled"], run["pieces_reworked"]) == (0, 0, 0)
    assert (run["pieces_sewn"], run["pieces_inspected"], run["stitches_per_piece"]) == (
        24,
        24,
        6200,
    )
    assert run["needle_parts_found"] is None
    assert f"Run {run['run_ref']}: 24 pieces sewn, nothing wrong." in _words(app)


def test_the_next_run_keeps_machine_and_setup_and_nothing_else(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _number(app, "speed_spm").set_value(680.0)
    _trouble(app, puckering=2)
    _button(app, "Log it: puckering 2").click().run()
    _next_run(app)
    assert not app.exception
    assert _number(app, "speed_spm").value == 680
    assert _number(app, "pieces_sewn").value == 24
    _button(app, "Clean run: log 24 pieces").click().run()
    refs = with_one_run.runs()["run_ref"]
    assert len(refs) == refs.n_unique() == 3


def test_pieces_with_any_defect_follow_the_largest_kind_until_told(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _trouble(app, puckering=2, gaps=1, fabric_faults=5)
    assert "Pieces with any defect: **2**" in _words(app)
    assert "If no piece shows two kinds, it is 3." in _words(app)
    _button(app, "Tell how many pieces").click().run()
    _number(app, "pieces_defective").set_value(3).run()
    _number(app, "gaps").set_value(2).run()
    assert _number(app, "pieces_defective").value == 3
    _button(app, "Log it").click().run()
    run = _only_new_run(with_one_run)
    assert (run["puckering"], run["gaps"], run["pieces_defective"]) == (2, 2, 3)


def test_fewer_pieces_than_the_largest_kind_are_sent_back(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _trouble(app, puckering=2, gaps=1)
    _button(app, "Tell how many pieces").click().run()
    _number(app, "pieces_defective").set_value(1)
    _button(app, "Log it").click().run()
    assert with_one_run.count() == 1
    assert "At least 2 pieces show a defect" in _words(app)


def test_a_needle_break_is_not_logged_without_an_answer_and_is_held_on_no(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _trouble(app, needle_breaks=1)
    assert "find every part of the needle" in _words(app)
    _button(app, "Log it").click().run()
    assert with_one_run.count() == 1
    assert "say whether every part of it was found" in _words(app)
    app.button_group(key="run.needle_parts_found").set_value(False).run()
    assert BROKEN_NEEDLE_HELD in _words(app)
    _button(app, "Log and hold: needle breaks 1").click().run()
    assert _only_new_run(with_one_run)["needle_parts_found"] is False
    assert "logged and held" in _words(app)


def test_what_cannot_be_is_said_with_the_fields_names_and_nothing_typed_is_lost(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _trouble(app, puckering=3)
    _number(app, "pieces_inspected").set_value(30)
    _button(app, "Log it").click().run()
    said = [each.value for each in app.error]
    assert said == [
        "**Pieces inspected.** Pieces inspected is 30, but only 24 pieces were sewn",
    ]
    assert (_number(app, "puckering").value, _number(app, "pieces_sewn").value) == (3, 24)
    _number(app, "pieces_inspected").set_value(24)
    _button(app, "Log it").click().run()
    assert _only_new_run(with_one_run)["puckering"] == 3


def test_without_pieces_the_form_asks_for_them(with_one_run: DuckStore, app: AppTest) -> None:
    app.run()
    _number(app, "pieces_sewn").set_value(None)
    _button(app, CLEAN).click().run()
    assert with_one_run.count() == 1
    assert "How many pieces were sewn?" in _words(app)


def test_a_second_tap_on_the_same_run_logs_nothing_more(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _number(app, "pieces_sewn").set_value(24).run()
    tapped = _button(app, CLEAN)
    tapped.click().run()
    tapped.click().run()
    assert not app.exception
    assert with_one_run.count() == 2


def test_a_run_just_logged_can_be_taken_back_and_put_right(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _trouble(app, puckering=2)
    _button(app, "Log it").click().run()
    ref = _only_new_run(with_one_run)["run_ref"]
    app.text_input(key="run.why").set_value("").run()
    _button(app, f"Take run {ref} back").click().run()
    assert with_one_run.count() == 2
    app.text_input(key="run.why").set_value("entered by mistake").run()
    _button(app, f"Take run {ref} back").click().run()
    assert with_one_run.count() == 1
    last = with_one_run.history(ref)[-1]
    assert (last.what, last.why, last.source) == ("withdrawn", "entered by mistake", "form")
    assert _number(app, "puckering").value == 2
    _number(app, "puckering").set_value(1).run()
    _button(app, "Log it").click().run()
    assert _only_new_run(with_one_run)["puckering"] == 1


def test_another_machine_brings_its_own_setup(with_one_run: DuckStore, app: AppTest) -> None:
    other = {**EARLIER_RUN, "run_ref": "R-2", "machine": "M2", "fabric": "twill"}
    log_run(with_one_run, {**other, "finished_at": datetime(2026, 10, 1)}, source="test")
    app.run()
    assert app.button_group(key="run.machine_button").value == "M1"
    app.button_group(key="run.machine_button").set_value("M2").run()
    assert not app.exception
    assert app.selectbox(key="run.fabric").value == "twill"
    assert app.session_state["run.machine"] == "M2"


@pytest.mark.parametrize("name", ["", "  "])
def test_another_machine_is_named_before_its_run_is_logged(
    with_one_run: DuckStore, app: AppTest, name: str
) -> None:
    app.run()
    app.button_group(key="run.machine_button").set_value("another machine").run()
    app.text_input(key="run.machine").set_value(name)
    _button(app, CLEAN).click().run()
    assert with_one_run.count() == 1
    assert [each.value for each in app.error] == [WHICH_MACHINE]
    app.text_input(key="run.machine").set_value("M9").run()
    assert not app.error
    _button(app, CLEAN).click().run()
    assert not app.exception
    assert _only_new_run(with_one_run)["machine"] == "M9"


def test_the_address_remembers_machine_and_operator(with_one_run: DuckStore, app: AppTest) -> None:
    other = {**EARLIER_RUN, "run_ref": "R-2", "machine": "M2"}
    log_run(with_one_run, {**other, "finished_at": datetime(2026, 10, 1)}, source="test")
    app.query_params["machine"] = "M2"
    app.query_params["operator"] = "Sade B."
    app.run()
    assert app.session_state["run.machine"] == "M2"
    assert app.session_state["run.operator"] == "Sade B."


def test_what_is_typed_outlives_a_look_at_another_page(
    with_one_run: DuckStore, app: AppTest
) -> None:
    app.run()
    _trouble(app, puckering=2)
    app.switch_page("views/weekly_review.py").run()
    app.switch_page("views/log.py").run()
    assert not app.exception
    assert (_number(app, "pieces_sewn").value, _number(app, "puckering").value) == (24, 2)


def test_the_kinds_met_with_most_come_first(with_one_run: DuckStore, app: AppTest) -> None:
    app.run()
    _trouble(app)
    kinds = {each.name for each in DEFECT_KINDS if each.measure == "pieces"}
    asked = [each.key.removeprefix("run.") for each in app.number_input]
    assert next(name for name in asked if name in kinds) == "hoop_marks"


def test_the_page_draws_nothing_of_its_own_source(with_one_run: DuckStore, app: AppTest) -> None:
    app.run()
    assert {each.value for each in app.markdown if not each.value.startswith("**")} == set()


@pytest.mark.parametrize("page", ["empty", "one run"])
def test_no_raw_name_is_shown(page: str, request: pytest.FixtureRequest, app: AppTest) -> None:
    request.getfixturevalue("without_runs" if page == "empty" else "with_one_run")
    app.run()
    _trouble(app, needle_breaks=1)
    widgets = [*app.number_input, *app.selectbox, *app.text_input, *app.button, *app.button_group]
    labels = [each.label for each in widgets]
    options = [option for each in app.selectbox for option in each.options]
    assert [text for text in (*labels, *options, _words(app)) if "_" in text] == []
