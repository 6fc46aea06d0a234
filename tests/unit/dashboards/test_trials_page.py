"""The page of trials, and the load that the form offers."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest
from trial_shop import FILM, film_trial, load_of, loads_of, towel_book

from logbook import service
from logbook.book.runs import log_run
from logbook.book.trials import start_trial, trials, write_trial
from logbook.store.duckdb_store import DuckStore

PAGES = Path(__file__).parents[3] / "dashboards/views"


@pytest.fixture
def towels(tmp_path: Path) -> Iterator[DuckStore]:
    with towel_book(tmp_path / "book", runs=12) as store:
        service.set_book(store)
        yield store
        service.set_book(None)


def page(name: str, **asked: str) -> AppTest:
    app = AppTest.from_file(str(PAGES / f"{name}.py"), default_timeout=120)
    for parameter, value in asked.items():
        app.query_params[parameter] = value
    return app.run()


def words(app: AppTest) -> str:
    shown = [*app.markdown, *app.info, *app.warning, *app.success, *app.caption, *app.error]
    bodies = [each.body for each in app.get("html") if not each.body.startswith("<style>")]
    return "\n".join([*(each.value for each in shown), *bodies])


def button(app: AppTest, key: str) -> Any:
    return app.button(key=key)


def test_a_trial_is_planned_kept_started_and_ended_on_the_page(towels: DuckStore) -> None:
    app = page("trials")
    assert not app.exception
    assert "Change **one** thing" in words(app)
    app.selectbox(key="plan-after-topping").set_value(FILM)
    app.radio(key="plan-worth").set_value("In points").run()
    app.number_input(key="plan-points").set_value(6.0).run()
    button(app, "draw-up").click().run()
    assert not app.exception
    assert "find a fall of 6.0 points" in words(app)
    button(app, "keep-trial").click().run()
    assert "Kept as trial T1" in words(app)
    [kept] = trials(towels)
    assert (kept.trial.state, kept.trial.smallest_difference) == ("planned", 0.06)
    button(app, "start-trial").click().run()
    assert "T1 is running" in words(app)
    button(app, "end-trial").click().run()
    assert not app.exception
    assert "T1 has ended" in words(app)
    assert trials(towels)[0].trial.state == "ended"


def test_a_suggestion_comes_filled_in_from_plan_a_setup(towels: DuckStore) -> None:
    app = page("trials", fabric="terry towel", factor="needle_point", before="sharp",
               after="light_ball")  # fmt: skip
    assert not app.exception
    assert app.selectbox(key="plan-factor").value == "needle_point"
    assert app.selectbox(key="plan-before-needle_point").value == "sharp"
    assert app.selectbox(key="plan-after-needle_point").value == "light_ball"


def test_a_trial_that_cannot_decide_is_not_kept(towels: DuckStore) -> None:
    app = page("trials")
    app.selectbox(key="plan-after-topping").set_value(FILM)
    app.radio(key="plan-worth").set_value("In points").run()
    app.number_input(key="plan-points").set_value(0.1).run()
    button(app, "draw-up").click().run()
    assert "No affordable trial" in words(app)
    assert "keep-trial" not in [each.key for each in app.button]


def test_a_running_trial_shows_its_verdict_its_figure_and_its_order(towels: DuckStore) -> None:
    kept = start_trial(towels, write_trial(towels, film_trial(), source="test"), source="test")
    for run in loads_of(kept.trial, [6, 7, 5, 8, 6, 7, 5], [1, 2, 0, 1, 2, 1, 0]):
        log_run(towels, run, source="test")
    app = page("trials")
    assert not app.exception
    assert "##### " in words(app)
    assert len(app.get("plotly_chart")) == 1
    assert words(app).count("✓") == 7


def test_the_form_offers_the_next_load_in_one_tap(towels: DuckStore) -> None:
    kept = start_trial(towels, write_trial(towels, film_trial(), source="test"), source="test")
    first = kept.trial.first[0]
    app = page("log")
    assert not app.exception
    assert "pair 1, load 1 of 2" in words(app)
    button(app, "take_load_T1").click().run()
    assert app.session_state["run.trial_arm"] == first
    assert app.session_state["run.topping"] == ("none" if first == "as now" else FILM)
    assert app.session_state["run.pieces_sewn"] == 50
    assert "In trial T1" in words(app)
    button(app, "log_it").click().run()
    [run] = [each for each in towels.runs().to_dicts() if each["trial"] == "T1"]
    assert (run["trial_arm"], run["pieces_sewn"]) == (first, 50)
    next(each for each in app.button if "next run" in each.label).click().run()
    assert not app.exception
    assert app.session_state["run.trial"] is None
    assert "pair 1, load 2 of 2" in words(app)


def test_a_setup_of_the_other_arm_is_warned_of_before_it_is_logged(towels: DuckStore) -> None:
    start_trial(towels, write_trial(towels, film_trial(), source="test"), source="test")
    app = page("log")
    button(app, "take_load_T1").click().run()
    other = FILM if app.session_state["run.topping"] == "none" else "none"
    app.selectbox(key="run.topping").set_value(other).run()
    assert "What was really sewn counts" in words(app)
    button(app, "leave_trial").click().run()
    assert app.session_state["run.trial"] is None


def test_the_address_of_the_card_opens_the_form_in_the_trial(towels: DuckStore) -> None:
    log_run(towels, load_of("as now", 900, trial=None, trial_arm=None, fabric="pique"),
            source="test")  # fmt: skip
    kept = write_trial(towels, film_trial(), source="test")
    assert "planned, not started" in words(page("log", trial="T1"))
    start_trial(towels, kept, source="test")
    assert "Trial T1" not in words(page("log", machine="M1"))
    app = page("log", trial="T1", machine="M1")
    button(app, "take_load_T1").click().run()
    assert app.session_state["run.fabric"] == "terry towel"
