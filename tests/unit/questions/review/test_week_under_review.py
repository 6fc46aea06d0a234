"""Which week is reviewed unless told: runs dated after today are told of, and take nothing over."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

import pytest
from weeks_of_runs import SETTINGS, book, plain_week

from logbook.book import weeks as review_weeks
from logbook.book.weeks import days_after_today, last_week, weeks_with_runs
from logbook.questions.review import ReviewParameters, ask
from logbook.questions.review.words import notes
from logbook.store import Store, new_book
from logbook.store.duckdb_store import DuckStore

NOW = datetime(2026, 11, 18, 12)


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    def at(_: Store) -> datetime:
        return NOW

    monkeypatch.setattr(review_weeks, "now_at", at)


def shop(place: Path, weeks: Sequence[str], later: Sequence[datetime] = ()) -> DuckStore:
    """A book of plain weeks, and of single runs that finished at these moments."""
    runs = [run for week in weeks for run in plain_week(week)]
    mould = plain_week("2026-W01")[0]
    runs += [
        {**mould, "run_ref": f"late-{number}", "finished_at": moment}
        for number, moment in enumerate(later)
    ]
    return book(place, runs, SETTINGS)


def test_a_mistyped_year_is_told_of_and_takes_nothing_over(tmp_path: Path) -> None:
    with shop(tmp_path, ["2026-W45", "2026-W46"], [datetime(2027, 11, 25, 10)]) as store:
        assert last_week(store) == "2026-W46"
        weeks = weeks_with_runs(store)
        assert (weeks.by_today, weeks.later) == (("2026-W46", "2026-W45"), ("2027-W47",))
        assert weeks.every[0] == last_week(store)
        result = ask(store, ReviewParameters())
    assert result.week == "2026-W46"
    assert "1 run is dated after today: 25 Nov 2027; look at it on Runs." in notes(result)


def test_a_run_of_later_this_week_does_not_begin_it(tmp_path: Path) -> None:
    with shop(tmp_path, ["2026-W46"], [datetime(2026, 11, 20, 10)]) as store:
        assert last_week(store) == "2026-W46"
        assert weeks_with_runs(store).every == ("2026-W46", "2026-W47")


def test_a_run_of_today_begins_its_week(tmp_path: Path) -> None:
    with shop(tmp_path, ["2026-W46"], [datetime(2026, 11, 18, 9)]) as store:
        assert last_week(store) == "2026-W47"
        assert weeks_with_runs(store).every == ("2026-W47", "2026-W46")
        assert days_after_today(store) == {}
        assert not any("after today" in note for note in notes(ask(store, ReviewParameters())))


def test_where_every_run_lies_in_the_future_the_newest_week_is_reviewed(tmp_path: Path) -> None:
    with shop(tmp_path, ["2026-W49", "2026-W50"]) as store:
        assert last_week(store) == "2026-W50"
        weeks = weeks_with_runs(store)
        assert (weeks.by_today, weeks.every) == ((), ("2026-W50", "2026-W49"))
        (note,) = [each for each in notes(ask(store, ReviewParameters())) if "after today" in each]
    assert note == (
        "20 runs are dated after today: 30 Nov 2026, 1 Dec 2026, 2 Dec 2026 and 7 more days; "
        "look at them on Runs."
    )


def test_runs_after_today_are_told_day_by_day_and_site_by_site(tmp_path: Path) -> None:
    late = [datetime(2027, 1, 5, 8), datetime(2027, 1, 4, 8), datetime(2027, 1, 5, 9)]
    with shop(tmp_path, ["2026-W46"], late) as store:
        assert days_after_today(store) == {date(2027, 1, 4): 1, date(2027, 1, 5): 2}
        assert days_after_today(store, site="Elsewhere") == {}


def test_an_empty_book_has_no_weeks_and_is_reviewed_for_the_present_one(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        assert last_week(store) == "2026-W47"
        assert weeks_with_runs(store).every == ()
