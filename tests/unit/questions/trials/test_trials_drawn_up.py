"""Trials drawn up from a shop's own record, and refused where none can decide."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from trial_shop import FILM, towel_book

from logbook.errors import ParameterError, TooLittleData
from logbook.kernels.power import pieces_per_arm
from logbook.questions.trials.plan_words import cautions, finding, plan_json, plan_notes
from logbook.questions.trials.planning import PlannedTrial, plan_trial
from logbook.questions.trials.wishes import TrialWish
from logbook.store.duckdb_store import DuckStore

FILM_WISH = {"factor": "topping", "before": "none", "after": "film", "seed": 4}


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    with towel_book(tmp_path_factory.mktemp("towels") / "book") as store:
        yield store


@pytest.fixture(scope="module")
def planned(book: DuckStore) -> PlannedTrial:
    wish = TrialWish(
        scope={"fabric": "Terry towel"}, **FILM_WISH, smallest_difference=0.05, pieces_per_arm=50
    )
    return plan_trial(book, wish)


def test_a_trial_is_drawn_up_with_the_spellings_of_the_book(planned: PlannedTrial) -> None:
    trial = planned.trial
    assert trial is not None
    assert trial.scope == {"fabric": "terry towel"}
    assert [(each.column, each.before, each.after) for each in trial.changes] == [
        ("topping", "none", FILM)
    ]
    assert planned.rate_now == pytest.approx(0.08, abs=0.01)
    assert planned.rests_on == 12_000
    assert len(trial.first) == trial.pairs == trial.looks[-1]


def test_steady_runs_take_about_the_published_number_of_pieces(planned: PlannedTrial) -> None:
    """Fleiss, Levin & Paik (2003), ch. 4, for pieces with their own luck: these runs have no other.

    A few more pay for Student's test and for looking.
    """
    published = pieces_per_arm(rate_a=planned.rate_now, rate_b=planned.rate_now - 0.05)
    assert planned.pieces_if_steady == pytest.approx(published)
    assert planned.pieces_wanted is not None
    assert 0.95 < planned.pieces_wanted / 2 / published < 1.8
    assert planned.power_if_more_restless < planned.power_if_steady
    assert planned.power_if_steady > 0.8


def test_its_json_has_the_fields_of_the_contract(planned: PlannedTrial) -> None:
    told = plan_json(planned, None)
    assert len(told["arms"]) == 2
    assert told["pieces_per_arm"] == 50
    assert told["pieces"] == 2 * 50 * (told["pairs"] or 0)
    assert (told["power"], told["alpha"], told["smallest_difference"]) == (0.8, 0.05, 0.05)
    assert any("drawn by chance" in each for each in told["instructions"])
    assert [each["arm"] for each in told["loads"][:2]] == [
        *planned.trial.first[:1],  # type: ignore[union-attr]
        next(arm for arm in ("as now", "changed") if arm != planned.trial.first[0]),  # type: ignore[union-attr]
    ]
    assert any("Fleiss" in each for each in told["notes"])


def test_where_no_affordable_trial_decides_it_says_what_can_be_learnt(book: DuckStore) -> None:
    wish = TrialWish(scope={"fabric": "terry towel"}, **FILM_WISH, smallest_difference=0.002)
    found = plan_trial(book, wish)
    assert found.trial is None
    assert "No affordable trial can show a fall of 0.20 points" in finding(found)
    assert "What can be learnt: whether it saves" in finding(found)
    assert found.learnable is not None
    step = round(found.learnable + 0.0005, 3)
    again = TrialWish(scope={"fabric": "terry towel"}, **FILM_WISH, smallest_difference=step)
    assert plan_trial(book, again).trial is not None


def test_the_smallest_difference_comes_from_its_money(book: DuckStore) -> None:
    wish = {"scope": {"fabric": "terry towel"}, **FILM_WISH}
    cost = plan_trial(book, TrialWish(**wish, smallest_difference=0.05)).cost_per_defective
    found = plan_trial(book, TrialWish(**wish, worth=20.0))
    assert found.smallest_difference == pytest.approx(20.0 / 100 / cost)
    with pytest.raises(ParameterError, match="no higher than the rate now"):
        plan_trial(book, TrialWish(**wish, worth=500.0))


@pytest.mark.parametrize(
    ("wish", "reason"),
    [
        ({"scope": {}, **FILM_WISH}, "fabric"),
        ({"scope": {"fabric": "terry towel"}}, "factor"),
        ({"scope": {"fabric": "terry towel"}, **FILM_WISH, "factor": "weather"}, "factor"),
        ({"scope": {"fabric": "terry towel"}, **FILM_WISH, "defect": "thread_breaks"}, "defect"),
        ({"scope": {"fabric": "terry towel"}, "suggestion": 99}, "suggestion"),
    ],
)
def test_what_cannot_be_tried_is_refused(
    book: DuckStore, wish: dict[str, object], reason: str
) -> None:
    with pytest.raises(ParameterError) as refused:
        plan_trial(book, TrialWish(**wish))  # type: ignore[arg-type]
    assert set(refused.value.reasons) == {reason}


def test_a_fabric_without_runs_has_too_little(book: DuckStore) -> None:
    with pytest.raises(TooLittleData, match="nothing to compare with"):
        plan_trial(book, TrialWish(scope={"fabric": "moleskin"}, **FILM_WISH))


def test_lots_are_told_of_where_they_matter(year: DuckStore) -> None:
    wish = TrialWish(
        scope={"fabric": "terry towel"}, factor="backing_supplier", before="Alder", after="Birch",
        smallest_difference=0.01,
    )  # fmt: skip
    found = plan_trial(year, wish)
    assert found.lots_wanted > 1
    assert any("lot" in each for each in plan_notes(found))


def test_cautions_fit_what_is_tried(planned: PlannedTrial) -> None:
    assert planned.trial is not None
    told = " ".join(cautions(planned.trial))
    assert "stop the machine" in told
    assert "no safety certificate" in told
