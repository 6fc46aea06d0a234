"""The watch on the sample year, whose truth is known (`sample_logs/truth.json`)."""

from __future__ import annotations

from datetime import date

import polars as pl
import pytest

from logbook.questions import QUESTIONS
from logbook.questions.watch.levels import came_in
from logbook.questions.watch.result import FOUND, SUSPECTED
from logbook.store import new_book

WATCH = QUESTIONS["watch"]


@pytest.fixture(scope="module")
def asked(year):
    """The answer of a week, asked once."""
    answers = {}

    def of(week):
        if week not in answers:
            answers[week] = WATCH.asked(year, week=week)
        return answers[week]

    return of


def refs(answer):
    return [each.ref for each in answer.result.findings]


def test_the_bad_lot_is_named_in_its_third_week(asked):
    found = next(each for each in asked("2026-W11").result.findings if each.kind.name == "gaps")
    named = [found.level, *found.confounded_with]
    assert {"backing_lot": "A2431"} in named
    assert found.direction == "above"
    assert found.since == date(2026, 2, 23)  # Monday of 2026-W09


def test_the_change_that_helped_is_said_within_three_weeks(asked):
    found = asked("2026-W33").result.findings[0]
    assert (found.kind.name, found.direction) == ("sinking", "below")
    assert found.level == {"topping": "water_soluble_film"}
    assert found.ratio < 0.4
    assert found.money < 0
    assert "it came in then" in found.changed_beside[0]


def test_the_wearing_machine_is_named_by_its_sixth_week(asked):
    assert "thread_breaks above machine=M3 four-head" in refs(asked("2026-W38"))


def test_the_last_week_names_lot_and_machine_and_what_went_before(asked):
    named = refs(asked("2026-W46"))
    assert "gaps above machine=M2 six-head" in named
    assert "gaps above backing_lot=C3188" in named
    assert "thread_breaks above machine=M3 four-head" in named
    assert "sinking below topping=water_soluble_film" in named


def test_a_quiet_week_says_so_in_one_line(asked):
    assert asked("2026-W20").headline == "Nothing new departs from what was to be expected."


def test_the_fields_of_the_contract_are_there(asked):
    told = asked("2026-W46").as_json()
    assert told["week"] == "2026-W46"
    assert set(told["looked_at"]) == {"kinds", "columns", "levels", "windows"}
    assert told["notes"]
    for each in told["findings"]:
        assert {
            *("kind", "direction", "level", "confounded_with", "since", "weeks", "observed"),
            *("expected", "ratio", "recurrence_weeks", "grade", "money", "known", "says"),
            "look_first",
        } <= set(each)
        assert each["grade"] == ("found" if each["recurrence_weeks"] >= FOUND else "suspected")
        assert each["recurrence_weeks"] >= SUSPECTED
        assert each["observed"] / each["expected"] == pytest.approx(each["ratio"], rel=0.01)
        assert each["known"] is None
        assert each["says"].strip()
        assert len(each["weekly"]) <= 26


def test_only_what_was_known_by_then_counts(asked, year):
    by_day = WATCH.asked(year, day="2026-03-15").result
    assert [each.ref for each in by_day.findings] == refs(asked("2026-W11"))


def test_its_words_its_table_and_its_picture_hold_the_same(asked):
    answer = asked("2026-W46")
    assert answer.headline.startswith("M3 four-head: thread breaks")
    assert answer.table().height == len(answer.result.findings)
    assert len(answer.tables[0].rows) == len(answer.result.findings)
    figure = answer.figure()
    first = answer.result.findings[0]
    assert sum(figure.data[0].y) == sum(each.observed for each in first.weekly)
    # What can hurt is said once, after all that is to be looked at.
    assert answer.sections[-1].cautions


def test_a_short_record_says_that_it_is_short(tmp_path):
    with new_book(str(tmp_path / "book")) as store:
        runs = pl.DataFrame(
            {
                "run_ref": ["one"],
                "finished_at": [date(2026, 3, 2)],
                "pieces_inspected": [50],
                "gaps": [1],
            },
            schema_overrides={"finished_at": pl.Datetime("us")},
        )
        store.put(runs, source="test")
        answer = WATCH.asked(store)
    assert answer.result.findings == ()
    assert answer.headline.startswith("The record is too short")
    assert answer.figure() is not None


def test_a_choice_has_come_in_when_its_share_has_risen():
    weeks_ago = pl.Series([week for week in range(20) for _ in range(10)]).to_numpy()
    used = pl.Series([week < 4 and run < 6 for week in range(20) for run in range(10)]).to_numpy()
    assert came_in(weeks_ago, used) == 4
    always = pl.Series([run < 6 for _ in range(20) for run in range(10)]).to_numpy()
    assert came_in(weeks_ago, always) == 0
