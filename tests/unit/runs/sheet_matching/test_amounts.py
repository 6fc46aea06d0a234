"""Numbers, weights and times as people write them."""

from __future__ import annotations

import pytest

from logbook.runs.columns import COLUMNS
from logbook.runs.sheet_matching.amounts import (
    bare_weight,
    decimal_mark,
    read_minutes,
    read_number,
    take_weight,
)

BY_NAME = {column.name: column for column in COLUMNS}


@pytest.mark.parametrize(
    ("text", "column", "value"),
    [
        ("7,450", "stitches_per_piece", 7450),
        ("7.450", "stitches_per_piece", 7450),
        ("8,5k", "stitches_per_piece", 8500),
        ("1 234", "pieces_sewn", 1234),
        ("24 pcs", "pieces_sewn", 24),
        ("850 spm", "speed_spm", 850),
        ("1,100", "speed_spm", 1100),
        ("0,450", "density", 0.45),
        ("5,5", "density", 5.5),
        ("1,234,567", "stitches_sewn", 1234567),
    ],
)
def test_numbers(text: str, column: str, value: float) -> None:
    assert read_number(text, BY_NAME[column]) == value


@pytest.mark.parametrize("text", ["about ten", "24 of 30", "", "1,2,3", "12-14", "x"])
def test_what_is_no_number(text: str) -> None:
    assert read_number(text, BY_NAME["pieces_sewn"]) is None


def test_a_number_of_two_meanings_is_none_until_the_column_shows_its_mark() -> None:
    stitches = BY_NAME["stitches_sewn"]
    assert read_number("7,450", stitches) is None
    assert read_number("7,450", stitches, decimal_mark(["7,450", "12.5"])) == 7450
    assert read_number("7,450", stitches, decimal_mark(["7,450", "12,5"])) == 7.45


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("70", 70),
        ("1h10", 70),
        ("1:10", 70),
        ("1.5 h", 90),
        ("1 Std 10", 70),
        ("90 min", 90),
        ("2h", 120),
        ("1 hr 5 min", 65),
        ("01:10:00", 70),
        ("soon", None),
        ("10m 1h", None),
    ],
)
def test_minutes(text: str, minutes: float | None) -> None:
    assert read_minutes(text) == minutes


def test_hours_where_the_heading_says_so() -> None:
    assert read_minutes("1,5", unit="hours") == 90


def test_weights() -> None:
    assert take_weight("2.5oz cutaway x2") == ({"backing_oz_yd2": "2.5"}, "cutaway x2")
    assert take_weight("60 g/m² cut") == ({"backing_gsm": "60"}, "cut")
    assert bare_weight(2.5, ounces=None) == {"backing_oz_yd2": "2.5"}
    assert bare_weight(60, ounces=None) == {"backing_gsm": "60"}
    assert bare_weight(12, ounces=None) == {}
