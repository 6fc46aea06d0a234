"""Factors and levels as people read them."""

from __future__ import annotations

from typing import Any

import pytest

from logbook.vocabulary.backings import WEIGHT_BANDS
from logbook.vocabulary.levels import factor_label, level_label, level_order


@pytest.mark.parametrize(
    ("factor", "level", "said"),
    [
        ("backing", "cut_away", "Cut-away"),
        ("needle_nm", 75, "75 Nm"),
        ("fabric_sheer", True, "yes"),
        ("fabric_sheer", False, "no"),
        ("speed_band", "slow", "Slow, under 600 stitches a minute"),
        ("machine", "M1", "M1"),
        ("machine", None, "not recorded"),
        ("thread", "40 polyester", "40 polyester"),
    ],
)
def test_levels_are_said_as_the_pages_say_them(factor: str, level: Any, said: str) -> None:
    assert level_label(factor, level) == said


@pytest.mark.parametrize(
    ("factor", "said"),
    [
        ("needle_nm", "Needle size"),
        ("weight_band", "Backing weight"),
        ("seen_at", "Judged when"),
        ("thread", "Thread"),
    ],
)
def test_factors_are_named_without_their_columns(factor: str, said: str) -> None:
    assert factor_label(factor) == said


def test_levels_stand_in_their_natural_order() -> None:
    bands = [band.name for band in WEIGHT_BANDS]
    assert sorted(sorted(bands), key=lambda each: level_order("weight_band", each)) == bands
    needles = ["100", "65", "75"]
    ordered = sorted(needles, key=lambda each: level_order("needle_nm", each))
    assert ordered == ["65", "75", "100"]
    assert sorted(["b", "a"], key=lambda each: level_order("machine", each)) == ["a", "b"]
