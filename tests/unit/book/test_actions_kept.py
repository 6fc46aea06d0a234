"""Actions are kept, ended, found by their week, and held against the rate since."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from small_shop import PIECES, RUNS_A_WEEK, SCRIPT, WEEK, small_book

from logbook.book.actions import action_named, actions, actions_for, end_action, write_action
from logbook.errors import DocumentChanged, DocumentNotFound, RecordError, VocabularyError
from logbook.questions.review import ReviewParameters, ask
from logbook.questions.review.decided import NOT_A_TRIAL
from logbook.runs.actions import DecidedAction, KeptAction
from logbook.store.duckdb_store import DuckStore

BEFORE = "2026-W38"
FEW = DecidedAction("Check the hoops", BEFORE, by="Ida", kind="puckering")


@pytest.fixture(scope="module")
def read_only_shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    """A shop whose actions the tests of this fixture each write anew."""
    with small_book(tmp_path_factory.mktemp("shop") / "book") as store:
        yield store


@pytest.fixture
def shop(read_only_shop: DuckStore) -> Iterator[DuckStore]:
    yield read_only_shop
    for document in read_only_shop.documents("actions"):
        read_only_shop.withdraw_document("actions", document.key, why="next test", source="test")


def written(store: DuckStore, action: DecidedAction) -> KeptAction:
    return write_action(store, action, source="test")


def done(store: DuckStore, action: DecidedAction, on: date) -> KeptAction:
    return end_action(store, written(store, action), state="done", why=None, source="test", on=on)


def test_an_action_is_numbered_in_its_week_and_read_back(shop: DuckStore) -> None:
    first, second = written(shop, FEW), written(shop, DecidedAction("Slow M2 down", BEFORE))
    assert (first.ref, second.ref) == (f"{BEFORE}-1", f"{BEFORE}-2")
    assert actions(shop) == (first, second)
    assert action_named(shop, f" {BEFORE.lower()}-2") == second
    with pytest.raises(DocumentNotFound):
        action_named(shop, f"{BEFORE}-9")


def test_the_same_action_is_not_written_twice(shop: DuckStore) -> None:
    assert written(shop, FEW) == written(shop, FEW)
    assert len(actions(shop)) == 1


def test_names_are_brought_to_the_spellings_in_use(shop: DuckStore) -> None:
    kept = written(
        shop,
        DecidedAction(
            "Ask for thicker film", BEFORE, kind="Puckering", backing="cutaway",
            backing_supplier="ALDER ",
        ),
    ).action  # fmt: skip
    assert (kept.kind, kept.backing, kept.backing_supplier) == ("puckering", "cut_away", "Alder")


def test_what_no_run_names_is_refused(shop: DuckStore) -> None:
    with pytest.raises(RecordError, match="no run names the machine 'M9'"):
        written(shop, DecidedAction("Oil it", BEFORE, machine="M9"))
    with pytest.raises(VocabularyError):
        written(shop, DecidedAction("Oil it", BEFORE, kind="wobbling"))
    assert actions(shop) == ()


def test_an_action_is_dropped_with_a_reason_and_opened_again(shop: DuckStore) -> None:
    kept = written(shop, FEW)
    with pytest.raises(RecordError, match="say why it was dropped"):
        end_action(shop, kept, state="dropped", why=" ", source="test", on=date(2026, 9, 22))
    gone = end_action(
        shop, kept, state="dropped", why="no time", source="test", on=date(2026, 9, 22)
    )
    assert actions(shop) == (gone,)
    assert gone.action.why == "no time"
    again = end_action(shop, gone, state="open", why=None, source="test")
    assert again.action == FEW
    reasons = [each.why for each in shop.document_history("actions", kept.ref)]
    assert reasons[-3:] == [None, "no time", None]


def test_a_change_of_what_somebody_else_changed_is_refused(shop: DuckStore) -> None:
    kept = written(shop, FEW)
    end_action(shop, kept, state="done", why=None, source="test", on=date(2026, 9, 22))
    with pytest.raises(DocumentChanged, match="Check the hoops"):
        end_action(shop, kept, state="dropped", why="no", source="test", on=date(2026, 9, 22))


def test_nothing_is_done_in_days_to_come(shop: DuckStore) -> None:
    with pytest.raises(RecordError, match="still to come"):
        done(shop, FEW, date(2999, 1, 1))


def test_a_review_finds_what_concerns_its_week(shop: DuckStore) -> None:
    old = written(shop, DecidedAction("Old and open", "2026-W10"))
    done(shop, DecidedAction("Old and done", "2026-W10"), date(2026, 3, 9))
    last = done(shop, DecidedAction("Of last week", "2026-W39"), date(2026, 9, 24))
    own = written(shop, DecidedAction("Of this week", WEEK))
    written(shop, DecidedAction("Of a later week", "2026-W41"))
    assert actions_for(shop, WEEK) == (old, last, own)
    review = ask(shop, ReviewParameters(week=WEEK))
    assert [each.kept for each in review.decided_before] == [old, last]
    assert [each.kept for each in review.decided_now] == [own]


def test_more_than_before_is_said_with_what_it_rests_on(shop: DuckStore) -> None:
    done(shop, FEW, date(2026, 9, 25))  # Friday of the last week but one
    (found,) = ask(shop, ReviewParameters(week=WEEK)).decided
    assert found.outcome is not None
    assert found.outcome.worked == "more"
    # Before: twelve weeks less their Friday's run; since: the last week alone, 12 or 13 a run.
    assert found.outcome.after.count == 12 * RUNS_A_WEEK + RUNS_A_WEEK // 2
    assert found.outcome.after.exposure == RUNS_A_WEEK * PIECES
    assert f"{found.outcome.after.count} of 300 pieces inspected" in found.result
    assert "Puckering: 3.0 % before (" in found.result
    assert "25.0 % since" in found.result
    assert ": more by 22.0 in 100 pieces (95 % interval " in found.result
    assert found.standing == "Done on 25 September 2026."


def test_part_of_the_work_is_compared_with_itself(shop: DuckStore) -> None:
    action = DecidedAction("New needles", BEFORE, kind="puckering", machine=f"M1 {SCRIPT}")
    done(shop, action, date(2026, 9, 25))
    (found,) = ask(shop, ReviewParameters(week=WEEK)).decided
    assert found.outcome is not None
    assert found.outcome.after.exposure == RUNS_A_WEEK * PIECES / 2
    assert found.about == f"Puckering, machine M1 {SCRIPT}"


def test_too_little_is_called_too_early(shop: DuckStore) -> None:
    done(shop, FEW, date(2026, 10, 4))  # Sunday of the week under review
    few = DecidedAction("Oil the hook", WEEK, kind="needle_breaks")
    done(shop, few, date(2026, 9, 29))
    nothing, rare = ask(shop, ReviewParameters(week=WEEK)).decided
    assert nothing.outcome is not None
    assert nothing.outcome.worked == "too_early"
    assert nothing.result.endswith("too early to say, nothing is recorded since.")
    assert rare.outcome is not None
    assert rare.outcome.worked == "too_early"
    assert "too early to say (" in rare.result


def test_no_change_is_no_clear_difference(shop: DuckStore) -> None:
    action = DecidedAction("Slow down", BEFORE, kind="thread_breaks")
    done(shop, action, date(2026, 9, 25))
    (found,) = ask(shop, ReviewParameters(week=WEEK)).decided
    assert found.outcome is not None
    assert found.outcome.worked == "no_clear_difference"
    assert "no clear difference (between 0.34 fewer and 0.51 more per" in found.result


def test_open_actions_say_when_they_are_due(shop: DuckStore) -> None:
    for due, says in (
        (None, "Open."),
        ("2026-W39", "Open, overdue: it was due in week 2026-W39."),
        (WEEK, f"Open, due in week {WEEK}."),
    ):
        kept = written(shop, DecidedAction("Oil it", BEFORE, due=due))
        found = next(
            each for each in ask(shop, ReviewParameters(week=WEEK)).decided if each.kept == kept
        )
        assert (found.standing, found.outcome) == (says, None)


def test_scripts_find_all_of_it(shop: DuckStore) -> None:
    done(shop, FEW, date(2026, 9, 25))
    answer = ask(shop, ReviewParameters(week=WEEK)).as_json()
    (told,) = answer["decided_actions"]
    assert (told["action"], told["state"], told["ended_on"]) == (
        f"{BEFORE}-1",
        "done",
        "2026-09-25",
    )
    outcome = told["outcome"]
    assert outcome["worked"] == "more"
    assert outcome["difference"] == pytest.approx(
        outcome["since"]["rate"] - outcome["before"]["rate"]
    )
    lower, upper = outcome["difference_interval"]
    assert lower < outcome["difference"] < upper
    assert outcome["caveat"] == NOT_A_TRIAL
    assert all(isinstance(each, str) for each in answer["actions"]), "these stay the suggestions"


def test_a_kind_that_the_shop_has_no_more_keeps_its_name(tmp_path: Path) -> None:
    with small_book(tmp_path / "book") as store:
        store.put_document(
            "actions",
            f"{BEFORE}-1",
            DecidedAction("Watch it", BEFORE, kind="wobbling").plain(),
            source="test",
        )
        (found,) = ask(store, ReviewParameters(week=WEEK)).decided
    assert (found.about, found.outcome) == ("wobbling", None)
