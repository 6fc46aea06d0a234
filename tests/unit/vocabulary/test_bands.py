"""Bands cover the whole line, without gap or overlap."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.vocabulary.backings import (
    BACKING_FACTS,
    GRAMS_PER_SQUARE_METRE_PER_OUNCE_PER_SQUARE_YARD,
    WEIGHT_BANDS,
)
from logbook.vocabulary.bands import DENSITY_BANDS, SPEED_BANDS, Band, band_of

SETS = {"weight": WEIGHT_BANDS, "speed": SPEED_BANDS, "density": DENSITY_BANDS}
EACH_SET = pytest.mark.parametrize("bands", SETS.values(), ids=SETS.keys())


@EACH_SET
def test_bands_meet_end_to_end_from_nothing_to_anything(bands: tuple[Band, ...]) -> None:
    assert bands[0].lowest == 0.0
    assert bands[-1].below == math.inf
    assert all(band.lowest < band.below for band in bands)
    assert [band.below for band in bands[:-1]] == [band.lowest for band in bands[1:]]
    assert len({band.name for band in bands}) == len(bands)
    assert len({band.label for band in bands}) == len(bands)


@given(value=st.floats(min_value=0, allow_infinity=False))
def test_every_measured_value_falls_in_exactly_one_band(value: float) -> None:
    for bands in SETS.values():
        found = band_of(value, bands)
        assert found is not None
        assert [band for band in bands if band.lowest <= value < band.below] == [found]


@EACH_SET
def test_an_edge_belongs_to_the_band_above(bands: tuple[Band, ...]) -> None:
    for band in bands:
        assert band_of(band.lowest, bands) == band


@EACH_SET
@pytest.mark.parametrize("value", [math.nan, -1.0, -math.inf])
def test_what_cannot_be_measured_has_no_band(bands: tuple[Band, ...], value: float) -> None:
    assert band_of(value, bands) is None


@pytest.mark.parametrize(
    ("ounces", "name"),
    [
        (1.0, "very_light"),
        (1.5, "light"),
        (1.8, "light"),
        (2.0, "medium"),
        (2.5, "medium_heavy"),
        (3.0, "heavy"),
        (3.75, "heavy"),
    ],
)
def test_the_steps_that_backings_are_sold_in(ounces: float, name: str) -> None:
    found = band_of(ounces * GRAMS_PER_SQUARE_METRE_PER_OUNCE_PER_SQUARE_YARD, WEIGHT_BANDS)
    assert found is not None
    assert found.name == name


def test_no_usual_weight_sits_on_an_edge() -> None:
    edges = [band.lowest for band in WEIGHT_BANDS[1:]]
    weights = {weight for facts in BACKING_FACTS.values() for weight in facts.usual_gsm}
    assert min(abs(weight - edge) for weight in weights for edge in edges) >= 2.0


def test_ounces_a_square_yard_in_grams_a_square_metre() -> None:
    # International avoirdupois ounce and yard, both exact since 1959.
    exact = 28.349523125 / 0.9144**2
    assert pytest.approx(exact, abs=5e-4) == GRAMS_PER_SQUARE_METRE_PER_OUNCE_PER_SQUARE_YARD
