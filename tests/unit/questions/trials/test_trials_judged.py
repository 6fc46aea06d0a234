"""Trials judged: take it, leave it, cannot tell; departures said; every kind looked at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from scipy import stats
from trial_shop import film_trial, load_of, loads_of

from logbook.book.runs import log_run
from logbook.book.trials import start_trial, write_trial
from logbook.questions import QUESTIONS
from logbook.questions.answer import Answer
from logbook.questions.trials.analyse import analyse
from logbook.questions.trials.result import TrialJudged, TrialsResult
from logbook.questions.trials.words import departures, headline, pressing, sentences
from logbook.runs.trials import KeptTrial, Trial
from logbook.shop import Shop
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

MANY, FEW = [6, 7, 5, 8, 6, 7, 5, 6, 8, 7, 6, 5], [1, 2, 0, 1, 2, 1, 0, 1, 1, 2, 0, 1]


def judged(runs: Sequence[dict[str, Any]], trial: Trial | None = None) -> TrialJudged:
    cells = pl.DataFrame(
        [
            {"kind": kind, "run_ref": run["run_ref"], "runs": 1, "exposure": 50.0,
             "count": run[column]}
            for run in runs
            for kind, column in (("any", "pieces_defective"), ("sinking", "sinking"),
                                 ("needle_cuts", "needle_cuts"))
        ]
    )  # fmt: skip
    planned = trial or film_trial(state="running")
    return analyse(runs, cells, kept=KeptTrial("T1", 1, planned), shop=Shop())


def said(found: TrialJudged) -> str:
    return headline(TrialsResult((found.kept,), found, "EUR"))


def test_a_real_gain_is_taken_and_ends_early() -> None:
    found = judged(loads_of(film_trial(), MANY, FEW))
    assert (found.verdict, found.decision) == ("better", "take")
    assert found.looked_after < 12
    assert found.may_end
    assert said(found).startswith("Take it: the change brings")
    assert found.money == pytest.approx(-100 * found.difference * 5.0)


def test_a_harm_is_left_and_ends_early() -> None:
    found = judged(loads_of(film_trial(), FEW, MANY))
    assert (found.verdict, found.decision) == ("worse", "leave")
    assert "Leave it: the change brings" in said(found)


def test_a_dud_is_left_where_it_cannot_be_worth_having() -> None:
    trial = film_trial(24, smallest_difference=0.08)
    even = [4, 5, 3, 4, 6, 4, 5, 3, 4, 5, 4, 6] * 2
    other = [5, 4, 4, 4, 5, 5, 4, 4, 3, 5, 5, 5] * 2
    found = judged(loads_of(trial, even, other), trial)
    assert (found.verdict, found.decision) == ("not_enough_data", "leave")
    assert "less than the 8.0 points worth having" in said(found)


def test_what_cannot_be_told_says_what_more_would_tell() -> None:
    trial = film_trial()
    now = [9, 1, 8, 2, 9, 1, 8, 2, 9, 1, 8, 2]
    found = judged(loads_of(trial, now, [2, 5, 1, 5, 2, 5, 1, 5, 2, 5, 1, 5]), trial)
    assert found.decision == "cannot_tell"
    assert found.may_end
    assert "all 12 pairs are sewn" in said(found)
    assert "more would" in said(found)


def test_at_its_only_look_a_trial_is_students_paired_test() -> None:
    trial = film_trial(12, looks=(12,))
    found = judged(loads_of(trial, MANY, FEW), trial)
    plain = stats.ttest_rel([each / 50 for each in FEW], [each / 50 for each in MANY])
    assert found.p_value == pytest.approx(plain.pvalue)
    interval = plain.confidence_interval(0.95)
    assert found.interval == pytest.approx((interval.low, interval.high), rel=1e-6)


def test_before_the_first_look_nothing_is_claimed() -> None:
    found = judged(loads_of(film_trial(), MANY[:3], FEW[:3]), film_trial(state="running"))
    assert (found.verdict, found.looks, found.next_look) == ("not_enough_data", (), 6)
    told = sentences(TrialsResult((found.kept,), found, "EUR"))
    assert any("too few pairs yet" in each for each in told)
    assert any("Next, pair 4, load 1 of 2: 50 pieces" in each for each in told)


def test_a_change_that_costs_more_than_it_saves_is_left() -> None:
    trial = film_trial(extra_material=2.0)
    found = judged(loads_of(trial, MANY, FEW), trial)
    assert (found.verdict, found.decision) == ("better", "leave")
    assert "costs more" in said(found)


def test_a_kind_that_rises_is_said_beside_the_verdict() -> None:
    runs = loads_of(film_trial(), MANY, FEW)
    for run in runs:
        run["needle_cuts"] = 0 if run["trial_arm"] == "as now" else 9 + len(run["run_ref"]) % 2
    found = judged(runs)
    assert [each.kind for each in found.kinds if each.worse] == ["needle_cuts"]
    [warning] = pressing(TrialsResult((found.kept,), found, "EUR"))
    assert "more needle cuts" in warning


def test_departures_are_said_and_pairs_left_out() -> None:
    runs = loads_of(film_trial(), MANY[:8], FEW[:8])
    runs[1]["operator"] = "Ben"
    runs[4]["finished_at"], runs[5]["finished_at"] = runs[5]["finished_at"], runs[4]["finished_at"]
    runs.append(load_of("changed", 40, topping="heat_away_film"))
    found = judged(runs)
    assert len(found.sewn.counted) == 7
    told = " ".join(departures(found))
    assert "Pair 1 does not count: operator changed within it." in told
    assert "pair 3" in told
    assert "Run L40 does not count: its setup is that of neither arm." in told


def test_many_pairs_out_of_order_are_warned_of() -> None:
    runs = loads_of(film_trial(), MANY, FEW)
    for place in range(0, 24, 4):
        one, other = runs[place], runs[place + 1]
        one["finished_at"], other["finished_at"] = other["finished_at"], one["finished_at"]
    found = judged(runs)
    assert any("drawn order" in each
               for each in pressing(TrialsResult((found.kept,), found, "EUR")))  # fmt: skip


@pytest.fixture(scope="module")
def answer(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Answer[TrialsResult]]:
    with new_book(str(tmp_path_factory.mktemp("trials") / "book")) as store:
        yield from _answered(store)


def _answered(store: DuckStore) -> Iterator[Answer[TrialsResult]]:
    kept = start_trial(store, write_trial(store, film_trial(), source="test"), source="test")
    for run in loads_of(kept.trial, MANY, FEW):
        log_run(store, run, source="test")
    yield QUESTIONS["trials"].asked(store)


def test_the_only_running_trial_is_judged_unasked(answer: Answer[TrialsResult]) -> None:
    assert answer.result.judged is not None
    assert answer.headline.startswith("Take it")
    told = answer.as_json()["judged"]
    assert told["difference"] < 0
    assert told["interval"][1] < 0
    assert (told["verdict"], told["planned_pairs"]) == ("better", 12)
    assert {each["kind"] for each in told["kinds"]} >= {"any", "sinking"}


def test_the_running_difference_is_drawn_with_its_interval(answer: Answer[TrialsResult]) -> None:
    figure = answer.figure()
    assert figure is not None
    lower, upper, middle = figure.data
    assert len(middle.x) == len(answer.result.judged.looks)  # type: ignore[union-attr]
    assert all(
        low <= here <= high for low, here, high in zip(lower.y, middle.y, upper.y, strict=True)
    )


def test_tables_hold_kinds_pairs_and_trials(answer: Answer[TrialsResult]) -> None:
    kinds, pairs, every = answer.tables
    assert kinds.rows[0][0].words == "Any defect"
    assert len(pairs.rows) == 12
    assert every.rows[0][0].words == "T1"


def test_books_of_no_trial_say_how_to_begin(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        log_run(store, {**load_of("as now", 1), "trial": None, "trial_arm": None}, source="test")
        assert QUESTIONS["trials"].asked(store).headline.startswith("No trial is kept yet")
