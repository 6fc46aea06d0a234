"""One cell: what is understood and what is not."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from logbook.runs.columns import COLUMNS, Column
from logbook.runs.intake.readers import (
    Unreadable,
    read_boolean,
    read_choice,
    read_integer,
    read_moment,
    read_needle,
    read_number,
)
from logbook.vocabulary.backings import BACKINGS

COLUMN: dict[str, Column] = {column.name: column for column in COLUMNS}
LISBON = ZoneInfo("Europe/Lisbon")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", 12),
        ("+12", 12),
        ("-3", -3),
        ("−3", -3),
        ("0012", 12),
        ("0" * 5000 + "12", 12),
        ("-9223372036854775808", -(2**63)),
        ("12.0", 12),
        ("12,0", 12),
        ("12.", 12),
        ("0.000", 0),
        ("1234.000", 1234),
        ("1 234", 1234),
        ("1\u202f234\u00a0567", 1234567),
        ("1'234", 1234),
        ("1,234,567", 1234567),
        ("1.234.567", 1234567),
        ("1,234.0", 1234),
        ("1.234,00", 1234),
        ("1 234,0", 1234),
    ],
)
def test_whole_numbers(text: str, value: int) -> None:
    assert read_integer(text) == value


@pytest.mark.parametrize(
    "text",
    ["abc", "12.5", "12,5", "1e5", "0x10", "1_000", "12 3", "1 23", "-", ".", "n/a", "1,23,456",
     "1,234.567,8", "٣", "1/2", "12 pcs", "nan", "1,234.5"],
)  # fmt: skip
def test_what_is_no_whole_number(text: str) -> None:
    with pytest.raises(Unreadable, match="is not a whole number"):
        read_integer(text)


@pytest.mark.parametrize("text", ["1,234", "1.234", "-12.000", "999,999"])
def test_one_mark_and_three_digits_can_be_two_numbers(text: str) -> None:
    with pytest.raises(Unreadable, match="can be read as"):
        read_integer(text)


@pytest.mark.parametrize("text", ["9" * 5000, str(2**63), str(-(2**63) - 1)])
def test_a_number_with_no_end(text: str) -> None:
    with pytest.raises(Unreadable, match="larger than any count"):
        read_integer(text)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", 12.0),
        ("12.5", 12.5),
        ("12,5", 12.5),
        (",5", 0.5),
        (".5", 0.5),
        ("-.5", -0.5),
        ("5.", 5.0),
        ("1e5", 1e5),
        ("1,5E+3", 1500.0),
        ("1 234,5", 1234.5),
        ("1,234.5", 1234.5),
        ("1.234,5", 1234.5),
        ("1,234,567", 1234567.0),
        ("0,125", 0.125),
    ],
)
def test_numbers(text: str, value: float) -> None:
    assert read_number(text, COLUMN["stitches_sewn"], dot_is_decimal=False) == value


@pytest.mark.parametrize("text", ["nan", "inf", "-Infinity", "abc", "-", "1e", "12 spm", "1;5"])
def test_what_is_no_number(text: str) -> None:
    with pytest.raises(Unreadable, match="is not a number"):
        read_number(text, COLUMN["density"], dot_is_decimal=True)


def test_a_number_past_all_numbers() -> None:
    with pytest.raises(Unreadable, match="larger than any number"):
        read_number("1e999", COLUMN["density"], dot_is_decimal=True)


@pytest.mark.parametrize(
    ("text", "column", "dot_is_decimal", "value"),
    [
        # A density of 2345 cannot be true, so 2,345 is 2.345.
        ("2,345", "density", True, 2.345),
        ("2.345", "density", False, 2.345),
        # Thousands of stitches can: a comma may mean either.
        ("250,000", "stitches_sewn", True, None),
        ("250,000", "stitches_sewn", False, None),
        # A dot is a decimal mark where commas part the cells, and unclear elsewhere.
        ("250.125", "stitches_sewn", True, 250.125),
        ("250.000", "stitches_sewn", False, None),
    ],
)
def test_thousands_or_decimals(
    text: str, column: str, dot_is_decimal: bool, value: float | None
) -> None:
    if value is None:
        with pytest.raises(Unreadable, match="can be read as"):
            read_number(text, COLUMN[column], dot_is_decimal=dot_is_decimal)
    else:
        assert read_number(text, COLUMN[column], dot_is_decimal=dot_is_decimal) == value


@pytest.mark.parametrize("text", ["true", "TRUE", "Yes", "y", "T", "1"])
def test_true(text: str) -> None:
    assert read_boolean(text) is True


@pytest.mark.parametrize("text", ["false", "No", "N", "f", "0"])
def test_false(text: str) -> None:
    assert read_boolean(text) is False


@pytest.mark.parametrize("text", ["x", "perhaps", "2", "-"])
def test_neither(text: str) -> None:
    with pytest.raises(Unreadable, match="neither true nor false"):
        read_boolean(text)


def test_choices_in_the_trades_words() -> None:
    assert read_choice("No-show mesh", BACKINGS) == "sheer_mesh"
    with pytest.raises(Unreadable, match="cut_away, tear_away"):
        read_choice("bamboo lattice", BACKINGS)


@pytest.mark.parametrize(
    ("text", "size"), [("75", 75), ("75/11", 75), ("Nm 80", 80), ("#11", 75), ("11", 11)]
)
def test_needle_sizes(text: str, size: int) -> None:
    assert read_needle(text) == size


@pytest.mark.parametrize("text", ["thick", "75/14"])
def test_no_needle_size(text: str) -> None:
    with pytest.raises(Unreadable, match="is not a needle size"):
        read_needle(text)


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2026-10-31", datetime(2026, 10, 31)),
        ("20261031", datetime(2026, 10, 31)),
        ("2026-10-31T14:30", datetime(2026, 10, 31, 14, 30)),
        ("2026-10-31 14:30:05", datetime(2026, 10, 31, 14, 30, 5)),
        ("2026-10-31t14:30:05.25", datetime(2026, 10, 31, 14, 30, 5, 250000)),
        ("2026-10-31T14", datetime(2026, 10, 31, 14)),
        # Lisbon keeps the time of Greenwich in winter and is an hour ahead in summer.
        ("2026-12-01T14:30Z", datetime(2026, 12, 1, 14, 30)),
        ("2026-07-01T14:30:00Z", datetime(2026, 7, 1, 15, 30)),
        ("2026-07-01 14:30 +02:00", datetime(2026, 7, 1, 13, 30)),
        ("2026-07-01T23:30:00-05:00", datetime(2026, 7, 2, 5, 30)),
        ("24.11.2026 11:00", datetime(2026, 11, 24, 11)),
        ("5.1.2026", datetime(2026, 1, 5)),
        ("01.07.2026 23:30:00-05:00", datetime(2026, 7, 2, 5, 30)),
    ],
)
def test_moments(text: str, moment: datetime) -> None:
    assert read_moment(text, LISBON) == moment


@pytest.mark.parametrize(
    "text",
    ["31/10/2026", "10-31-2026", "2026-10", "2026-1-5", "Oct 31 2026", "46326", "14:30",
     "2026-10-31T", "2026-10-31x14:30", "tomorrow", "31.10.26", "31.10.20261", "31/10.2026",
     "131.10.2026", "2026.10.31", "31.10.2026x"],
)  # fmt: skip
def test_no_moment(text: str) -> None:
    with pytest.raises(Unreadable, match="year, month, day"):
        read_moment(text, LISBON)


@pytest.mark.parametrize(
    "text",
    [
        "2026-02-30",
        "2026-13-01",
        "30.02.2026",
        "10.31.2026",
        "2026-10-31T25:00",
        "0000-01-01",
        "0001-01-01T00:00+14:00",
    ],
)
def test_no_day_of_the_calendar(text: str) -> None:
    with pytest.raises(Unreadable, match="calendar"):
        read_moment(text, LISBON)
