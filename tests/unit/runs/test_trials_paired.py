"""Loads of a trial paired as sewn; what went otherwise is seen, said and allowed for."""

from __future__ import annotations

from typing import Any

import pytest
from trial_shop import film_trial, load_of, loads_of

from logbook.errors import RecordError
from logbook.runs.trial_pairs import next_load, sewn_trial
from logbook.runs.trials import CHANGED, TrialChange, drawn_order, held_columns, trial_from

TRIAL = film_trial()


def test_the_order_is_drawn_again_from_its_seed_and_is_balanced() -> None:
    order = drawn_order(40, 5)
    assert order == drawn_order(40, 5) != drawn_order(40, 6)
    assert order.count("changed") == 20
    assert max(len(run) for run in "".join(each[0] for each in order).split("a")) <= 4


def test_a_trial_comes_back_from_plain_values() -> None:
    assert trial_from(TRIAL.plain()) == TRIAL


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"changes": ()}, "say what is changed"),
        ({"changes": (TrialChange("topping", "none", "none"),)}, "same in both arms"),
        ({"scope": {}}, "on which work"),
        ({"first": ("as now",)}, "an order is needed"),
    ],
)
def test_what_cannot_be_is_refused(told: dict[str, Any], says: str) -> None:
    with pytest.raises(RecordError, match=says):
        film_trial(**told)


def test_loads_in_the_drawn_order_are_pairs() -> None:
    sewn = sewn_trial(TRIAL, loads_of(TRIAL, [4] * 12, [1] * 12))
    assert len(sewn.counted) == 12
    assert not any(each.out_of_order for each in sewn.pairs)
    assert (sewn.half, sewn.left_out, sewn.swapped) == ({}, {}, ())
    assert next_load(TRIAL, sewn, "M1") is None


def test_two_machines_have_pairs_of_their_own() -> None:
    one = loads_of(TRIAL, [4, 4], [1, 1])
    other = [{**each, "run_ref": f"B{each['run_ref']}", "machine": "M2"} for each in one]
    together = [run for both in zip(one, other, strict=True) for run in both]
    sewn = sewn_trial(TRIAL, together)
    assert len(sewn.counted) == 4
    assert {run["machine"] for run in sewn.pairs[0].now.runs} == {
        run["machine"] for run in sewn.pairs[0].changed.runs
    }


def test_a_load_sewn_in_two_runs_is_one_load() -> None:
    halves = [load_of("as now", 0, pieces_sewn=20), load_of("as now", 1, pieces_sewn=30)]
    waiting = sewn_trial(TRIAL, halves[:1])
    asked = next_load(TRIAL, waiting, "M1")
    assert asked is not None
    assert (asked.arm, asked.pieces, asked.second) == ("as now", 30, False)
    sewn = sewn_trial(TRIAL, [*halves, load_of("changed", 2)])
    assert len(sewn.counted) == 1
    assert sewn.pairs[0].now.pieces == 50


def test_a_broken_order_is_seen_and_counted() -> None:
    runs = loads_of(TRIAL, [4], [1])
    runs[0]["finished_at"], runs[1]["finished_at"] = runs[1]["finished_at"], runs[0]["finished_at"]
    [pair] = sewn_trial(TRIAL, runs).pairs
    assert pair.out_of_order
    assert pair.counts


def test_a_swapped_arm_counts_as_it_was_sewn() -> None:
    runs = [load_of("as now", 0), load_of("changed", 1, trial_arm="as now")]
    sewn = sewn_trial(TRIAL, runs)
    assert sewn.swapped == ("L1",)
    assert sewn.pairs[0].changed.refs == ("L1",)


def test_a_setup_of_neither_arm_and_other_work_are_left_out() -> None:
    runs = [
        load_of("changed", 0, topping="heat_away_film"),
        load_of("as now", 1, fabric="pique polo"),
        load_of("as now", 2, topping=None, trial_arm=None),
        load_of("as now", 3),
    ]
    sewn = sewn_trial(TRIAL, runs)
    assert sewn.left_out == {
        "L0": "its setup is that of neither arm",
        "L1": "it is other work: fabric is pique polo",
        "L2": "neither its arm nor its setup says which load it was",
    }
    assert sewn.half["M1"].refs == ("L3",)


@pytest.mark.parametrize(
    ("column", "value", "counts"),
    [
        ("operator", "Ben", False),
        ("needle_nm", 80, False),
        ("backing_lot", "A2", False),
        ("speed_spm", 720.0, True),
        ("speed_spm", 850.0, False),
        ("operator", None, True),
    ],
)
def test_a_third_thing_changed_within_a_pair_is_seen(column: str, value: Any, counts: bool) -> None:
    runs = [load_of("as now", 0), load_of("changed", 1, **{column: value})]
    [pair] = sewn_trial(TRIAL, runs).pairs
    assert pair.differs == (() if counts else (column,))
    assert pair.counts == counts


def test_a_pair_that_does_not_count_is_sewn_again() -> None:
    trial = film_trial(6)
    runs = loads_of(trial, [4] * 6, [1] * 6)
    runs[1]["operator"] = "Ben"
    again = next_load(trial, sewn_trial(trial, runs), "M1")
    assert again is not None
    assert again.pair == 7


def test_two_loads_of_one_arm_in_a_row_leave_the_first_without_a_partner() -> None:
    sewn = sewn_trial(TRIAL, [load_of("as now", 0), load_of("as now", 1), load_of("changed", 2)])
    assert sewn.pairs[0].now.refs == ("L1",)
    assert "no load of the other arm followed" in sewn.left_out["L0"]


def test_what_comes_with_a_backing_may_change_with_it() -> None:
    held = held_columns((TrialChange("backing_supplier", "Alder", "Birch"),))
    assert not {"backing", "backing_lot", "backing_supplier", "trial", "shift"} & set(held)
    assert {"machine", "operator", "topping", "design"} <= set(held)


def test_an_arm_fills_the_form_with_values_of_its_columns() -> None:
    trial = film_trial(changes=(TrialChange("needle_nm", "75", "70"),
                                TrialChange("weight_band", "light", "medium")))  # fmt: skip
    assert trial.setting(CHANGED) == {"needle_nm": 70}
