"""Dates of every usual kind, and their order judged by the whole column."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from logbook.runs.sheet_matching.dates import judge, read_clock, take_apart

NOW = datetime(2026, 6, 1)
THIRD = date(2025, 11, 3)


@pytest.mark.parametrize(
    "text",
    [
        "03/11/2025",
        "3.11.25",
        "3-11-2025",
        "3-Nov-25",
        "3 Nov 2025",
        "Nov 3, 2025",
        "3rd November 2025",
        "3. November 2025",
        "2025/11/03",
        "20251103",
        "Mon 3/11/2025",
        "Montag, 03.11.2025",
        "45964",
        "2025-11-03",
        "2025-11-03T00:00:00",
    ],
)
def test_the_third_of_november(text: str) -> None:
    form = take_apart(text)
    assert form is not None
    assert form.under("day_first") == THIRD


@pytest.mark.parametrize(
    "text", ["", "polo", "24", "7,450", "1h10", "11.25", "M1", "12345678", "may be", "3"]
)
def test_what_is_no_date(text: str) -> None:
    assert take_apart(text) is None


@pytest.mark.parametrize(
    ("text", "clock"),
    [
        ("03/11/2025 14:30", "14:30"),
        ("3 Nov 2025 2:30 pm", "14:30"),
        ("2025-11-03T07:05:09", "07:05:09"),
        ("03.11.2025 07:15 Uhr", "07:15"),
    ],
)
def test_time_beside_a_date(text: str, clock: str) -> None:
    form = take_apart(text)
    assert form is not None
    assert form.time == clock


def test_clocks() -> None:
    assert [read_clock(text) for text in ("14:30", "2:30 PM", "1430", "1h10", "70")] == [
        "14:30",
        "14:30",
        "14:30",
        None,
        None,
    ]


def test_one_late_day_settles_the_column() -> None:
    judged = judge(["03/11/2025", "13/11/2025"], now=NOW)
    assert (judged.order, judged.certain) == ("day_first", True)
    judged = judge(["11/03/2025", "11/13/2025"], now=NOW)
    assert (judged.order, judged.certain) == ("month_first", True)


def test_nothing_settles_days_that_are_months_too() -> None:
    judged = judge(["03/11/2025", "04/11/2025", "05/11/2025"], now=NOW)
    assert not judged.certain
    assert judged.order == "day_first"


def test_a_column_that_contradicts_itself_is_not_settled() -> None:
    judged = judge(["03/11/2025", "13/11/2025", "11/25/2025"], now=NOW)
    assert not judged.certain


def test_days_of_the_week_settle_it() -> None:
    # The 3rd of November 2025 was a Monday, the 11th of March 2025 a Tuesday.
    judged = judge(["Mon 03/11/2025", "Tue 04/11/2025"], now=NOW)
    assert (judged.order, judged.certain) == ("day_first", True)
    judged = judge(["Tue 03/11/2025"], now=NOW)
    assert (judged.order, judged.certain) == ("month_first", True)


def test_days_that_every_order_reads_alike() -> None:
    assert judge(["03/03/2025", "05/05/2025"], now=NOW).certain


def test_dates_that_say_which_number_is_what() -> None:
    judged = judge(["2025-11-03", "3-Nov-25"], now=NOW)
    assert (judged.order, judged.certain) == ("year_first", True)
    assert not judge(["3/11", "4/11"], now=NOW).certain
    assert judge(["3/11", "14/11"], now=NOW).yearless == 2
