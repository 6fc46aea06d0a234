"""Needle sizes and points as they are written."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.vocabulary.needles import NEEDLE_POINTS, NEEDLE_SIZES_NM, needle_size_nm


@pytest.mark.parametrize(
    "written",
    [
        "75/11",
        "75",
        "75.0",
        "11/75",
        "75-11",
        " 75 / 11 ",
        "#11",
        "11",
        "Nm 75",
        "NM75",
        "75/11 BP",
        "size 11",
        "75/11 ball-point",
        "75 sharp",
        "needle no. 11",
    ],
)
def test_the_standard_needle_however_it_is_written(written: str) -> None:
    assert needle_size_nm(written) == 75


@pytest.mark.parametrize(("metric", "number"), NEEDLE_SIZES_NM.items())
def test_both_names_of_every_size(metric: int, number: int) -> None:
    assert needle_size_nm(f"{metric}/{number}") == metric
    assert needle_size_nm(str(metric)) == metric
    assert needle_size_nm(str(number)) == metric


@pytest.mark.parametrize(
    "written",
    ["", "usual", "75/14", "54", "121", "1000", "75/11/3", "75 rusty", "-", "0.75", "75.5"],
)
def test_what_is_no_size_is_not_guessed(written: str) -> None:
    assert needle_size_nm(written) is None


@given(written=st.text())
def test_a_size_is_in_the_run_sheets_range_or_nothing(written: str) -> None:
    size = needle_size_nm(written)
    assert size is None or 55 <= size <= 120


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("BP", "light_ball"),
        ("ballpoint", "light_ball"),
        ("medium ball point", "medium_ball"),
        ("S", "sharp"),
        ("blunt", None),
    ],
)
def test_spellings_of_points(written: str, value: str | None) -> None:
    assert NEEDLE_POINTS.understand(written) == value
