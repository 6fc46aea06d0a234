from datetime import date

import pytest

from logbook.calendar_weeks import days_of, days_words, iso_week, weeks_before
from logbook.errors import AnalysisError


@pytest.mark.parametrize(
    ("day", "week"),
    [
        # ISO 8601:2004, clause 3.2.2: the first week of a year holds its first Thursday.
        (date(2026, 1, 1), "2026-W01"),
        (date(2027, 1, 1), "2026-W53"),
        (date(2024, 12, 30), "2025-W01"),
        (date(2026, 10, 5), "2026-W41"),
    ],
)
def test_weeks_are_those_of_iso_8601(day, week):
    assert iso_week(day) == week


def test_a_week_is_its_monday_to_its_sunday():
    assert days_of("2026-W41") == (date(2026, 10, 5), date(2026, 10, 11))


@pytest.mark.parametrize("text", ["2026W41", "2026-w41", " 2026-W41 "])
def test_other_spellings_of_a_week_are_understood(text):
    assert days_of(text) == (date(2026, 10, 5), date(2026, 10, 11))


@pytest.mark.parametrize("text", ["2025-W53", "2026-W54", "2026-W00"])
def test_a_week_that_the_year_does_not_have_is_named(text):
    with pytest.raises(AnalysisError, match="There is no week") as caught:
        days_of(text)
    assert text[:4] in str(caught.value.hint)


def test_the_hint_says_how_many_weeks_the_year_has():
    with pytest.raises(AnalysisError) as caught:
        days_of("2025-W53")
    assert caught.value.hint == "The weeks of 2025 go from 2025-W01 to 2025-W52."


@pytest.mark.parametrize("text", ["", "week 41", "2026-41", "2026-W4100", "٢٠٢٦-W41", "0000-W01"])
def test_what_is_no_week_is_refused_in_one_sentence(text):
    with pytest.raises(AnalysisError) as caught:
        days_of(text)
    assert "2026-W40" in str(caught.value.hint)


def test_weeks_before_cross_the_year_oldest_first():
    assert weeks_before("2026-W02", 3) == ("2025-W51", "2025-W52", "2026-W01")
    assert weeks_before("2027-W01", 2) == ("2026-W52", "2026-W53")


def test_weeks_before_the_calendar_are_refused():
    with pytest.raises(AnalysisError, match="does not reach"):
        weeks_before("0001-W02", 12)


def test_every_day_of_a_week_has_its_name():
    monday, sunday = days_of("2026-W53")
    assert iso_week(monday) == iso_week(sunday) == "2026-W53"


def test_a_week_is_said_by_its_days() -> None:
    assert days_words("2026-W46") == "9 to 15 Nov"
    assert days_words("2026-W40") == "28 Sep to 4 Oct"
    assert days_words("2026-W01") == "29 Dec to 4 Jan"
