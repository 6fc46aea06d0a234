"""Factors as the cells know them, and with their levels as people read them."""

from __future__ import annotations

from typing import Any

import pytest

from logbook.runs.factors import COMPARED, FACTORS, factor_label, level_label, level_order
from logbook.vocabulary.backings import WEIGHT_BANDS
from logbook.vocabulary.bands import DENSITY_BANDS, NEEDLE_AGE_BANDS, SPEED_BANDS


def test_what_is_compared_in_its_order() -> None:
    assert [each.column for each in COMPARED] == [
        "thread",
        "fabric",
        "fabric_shade",
        "backing",
        "weight_band",
        "backing_layers",
        "backing_shade",
        "backing_supplier",
        "topping",
        "hooping",
        "needle_nm",
        "needle_point",
        "speed_band",
        "density_band",
        "seen_at",
        "site",
        "machine",
        "needle_age_band",
        "operator",
        "shift",
    ]


def test_banded_factors_say_what_they_are_cut_from() -> None:
    banded = {factor.column: (factor.cut_from, factor.bands) for factor in FACTORS if factor.bands}
    assert banded == {
        "weight_band": ("backing_gsm", WEIGHT_BANDS),
        "speed_band": ("speed_spm", SPEED_BANDS),
        "density_band": ("density", DENSITY_BANDS),
        "needle_age_band": ("needle_age_stitches", NEEDLE_AGE_BANDS),
    }
    assert all(factor.cut_from is None for factor in FACTORS if not factor.bands)


def test_labels_are_words_for_people() -> None:
    labels = [factor.label for factor in FACTORS]
    assert len(set(labels)) == len(labels)
    assert not any("_" in label for label in labels)


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
        ("backing_gsm", "Backing weight, exact"),
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
