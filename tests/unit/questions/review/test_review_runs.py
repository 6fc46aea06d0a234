from datetime import datetime

import polars as pl
import pytest

from logbook.questions.review.held import held_runs
from logbook.questions.review.judging import Judged
from logbook.questions.review.runs import runs_to_look_at
from logbook.runs.columns import run_schema
from logbook.vocabulary.defects import kind

NO_INTERVAL = (0.0, 1.0)


def runs(*rows):
    base = {
        "finished_at": datetime(2026, 10, 12, 9),
        "machine": "M1",
        "operator": "Ida",
        "design": "Fox crest",
        "fabric": "pique polo",
        "backing": "cut_away",
        "backing_supplier": "Elm",
        "backing_lot": "E7",
        "pieces_sewn": 60,
        "pieces_inspected": 60,
        "stitches_sewn": 300_000.0,
    }
    numbered = [{"run_ref": f"R{number}"} | base | row for number, row in enumerate(rows, start=1)]
    return pl.DataFrame(numbered, schema=run_schema())


def usual(name, rate):
    measured = kind(name)
    exposure = 10_000.0 if measured.measure == "pieces" else 1e8
    return Judged(
        kind=measured,
        count=0,
        exposure=0.0,
        rate=rate,
        interval=NO_INTERVAL,
        count_before=round(rate * exposure),
        exposure_before=exposure,
        rate_before=rate,
        interval_before=NO_INTERVAL,
        weeks_before=12,
    )


def test_the_run_far_beyond_expectation_is_named_with_its_setup_and_why():
    (run,) = runs_to_look_at(runs({"gaps": 14}, {"gaps": 1}), [usual("gaps", 0.01)])
    assert run.run_ref == "R1"
    assert run.setup == {
        "machine": "M1",
        "operator": "Ida",
        "design": "Fox crest",
        "fabric": "pique polo",
        "backing": "cut_away",
        "supplier": "Elm",
        "lot": "E7",
    }
    assert run.why == (
        "Gaps between areas: 14 of 60 pieces inspected (23.3 %, 95 % interval 14.4 to 35.4 %); "
        "about 0.6 of them would be usual."
    )


def test_two_defects_in_one_run_are_no_reason_to_walk_to_the_rack():
    assert runs_to_look_at(runs({"gaps": 2}), [usual("gaps", 0.0001)]) == ()


def test_a_little_more_than_expected_is_not_named():
    # 4 where 2 are expected: sqrt(2 (4 log 2 - 2)) = 1.24.
    assert runs_to_look_at(runs({"gaps": 4}), [usual("gaps", 1 / 30)]) == ()


def test_the_score_is_the_signed_root_of_the_deviance():
    (run,) = runs_to_look_at(runs({"gaps": 6}), [usual("gaps", 0.01)])
    # 2 (6 log(6 / 0.6) - 5.4) = 16.831; its root by hand.
    assert run.excesses[0].score == pytest.approx(4.1026, abs=1e-4)
    assert run.excesses[0].expected == pytest.approx(0.6)


def test_several_kinds_of_one_run_make_one_entry():
    (run,) = runs_to_look_at(
        runs({"gaps": 9, "puckering": 12}), [usual("gaps", 0.01), usual("puckering", 0.01)]
    )
    assert [excess.kind.name for excess in run.excesses] == ["puckering", "gaps"]
    assert "; Gaps between areas: 9 of 60" in run.why


def test_one_kind_does_not_fill_the_list_and_the_list_has_an_end():
    rows = [{"thread_breaks": 40 + number} for number in range(6)]
    rows += [{"gaps": 20 + number} for number in range(6)]
    rows += [{"puckering": 10 + number} for number in range(6)]
    kinds = [usual("thread_breaks", 3e-5), usual("gaps", 0.01), usual("puckering", 0.01)]
    found = runs_to_look_at(runs(*rows), kinds)
    leading = [run.excesses[0].kind.name for run in found]
    assert len(found) == 8
    assert {name: leading.count(name) for name in leading} == {
        "gaps": 3,
        "thread_breaks": 3,
        "puckering": 2,
    }
    scores = [run.excesses[0].score for run in found]
    assert scores == sorted(scores, reverse=True)


def test_missing_exposures_are_made_from_what_there_is():
    rows = runs(
        {"gaps": 10, "pieces_inspected": None},
        {"thread_breaks": 60, "stitches_sewn": None, "stitches_per_piece": 5000},
        {"thread_breaks": 60, "stitches_sewn": None},
    )
    found = runs_to_look_at(rows, [usual("gaps", 0.01), usual("thread_breaks", 3e-5)])
    exposures = {run.run_ref: run.excesses[0].exposure for run in found}
    assert exposures == {"R1": 60.0, "R2": 300_000.0}


def test_a_kind_never_seen_before_sets_its_usual_by_the_week_itself():
    judged = Judged(
        kind("gaps"), 12, 600.0, 0.02, NO_INTERVAL, 0, 0.0, float("nan"), NO_INTERVAL, 0
    )
    (run,) = runs_to_look_at(runs({"gaps": 12}, *[{"gaps": 0}] * 9), [judged])
    assert run.excesses[0].expected == pytest.approx(1.2)


def test_without_rates_nothing_is_named():
    assert runs_to_look_at(runs({"gaps": 30}), []) == ()


def test_held_runs_are_those_with_parts_not_found():
    rows = runs(
        {"needle_parts_found": False, "finished_at": datetime(2026, 10, 13, 9)},
        {"needle_parts_found": True},
        {"needle_parts_found": None},
        {"needle_parts_found": False},
    )
    assert [run.run_ref for run in held_runs(rows)] == ["R4", "R1"]
