"""Predicted counts held to published figures and to a general-purpose library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from logbook.errors import KernelError
from logbook.kernels.predictive_counts import (
    Share,
    chance_of_enough,
    count_probabilities,
    pieces_to_begin,
    predicted_count,
    share_of,
)

shares = st.builds(
    share_of,
    mean=st.floats(1e-4, 0.6),
    variance=st.floats(0, 0.05),
)


def test_moments_of_the_rat_tumours() -> None:
    """Gelman et al. 2013, Bayesian Data Analysis, 3rd ed., section 5.1: 0.136, 0.103 → 1.4, 8.6.

    Quoted from memory; mean and deviation are printed to three places.
    """
    found = share_of(mean=0.136, variance=0.103**2)
    assert found.a == pytest.approx(1.4, abs=0.05)
    assert found.b == pytest.approx(8.6, abs=0.15)


def test_the_next_group_of_rats_after_four_of_fourteen() -> None:
    """As above: Beta(5.4, 18.6), of mean 0.223 and standard deviation 0.083, as printed."""
    after = Share(1.4 + 4, 8.6 + 10)
    size = after.a + after.b
    assert after.mean == pytest.approx(0.223, abs=0.003)
    assert math.sqrt(after.a * after.b / (size**2 * (size + 1))) == pytest.approx(0.083, abs=1e-3)


@given(share=shares, pieces=st.integers(1, 400))
def test_chances_are_those_of_the_library(share: Share, pieces: int) -> None:
    found = count_probabilities(pieces=pieces, share=share)
    wanted = stats.betabinom.pmf(np.arange(pieces + 1), pieces, share.a, share.b)
    np.testing.assert_allclose(found, wanted, rtol=1e-6, atol=1e-9)


@given(share=shares, pieces=st.integers(1, 400), level=st.floats(0.5, 0.99))
def test_the_interval_holds_its_level_and_no_end_is_spare(
    share: Share, pieces: int, level: float
) -> None:
    found = predicted_count(pieces=pieces, share=share, level=level)
    chances = count_probabilities(pieces=pieces, share=share)
    assert found.expected == pytest.approx(float(chances @ np.arange(pieces + 1)), rel=1e-5)
    assert chances[found.lower : found.upper + 1].sum() >= level - 1e-9
    assert chances[: found.upper].sum() < 1 - (1 - level) / 2 + 1e-9


@given(share=shares, wanted=st.integers(1, 300))
def test_the_fewest_pieces_that_are_enough(share: Share, wanted: int) -> None:
    begun = pieces_to_begin(wanted=wanted, share=share)
    if begun is None:
        assert chance_of_enough(wanted=wanted, begun=100 * wanted, share=share) < 0.9
        return
    assert chance_of_enough(wanted=wanted, begun=begun, share=share) >= 0.9
    assert chance_of_enough(wanted=wanted, begun=begun - 1, share=share) < 0.9


def test_a_share_known_for_sure_is_binomial() -> None:
    found = count_probabilities(pieces=50, share=share_of(mean=0.1, variance=0.0))
    np.testing.assert_allclose(found, stats.binom.pmf(np.arange(51), 50, 0.1), atol=1e-5)


@pytest.mark.parametrize("wrong", [{"mean": 0.0}, {"mean": 1.0}, {"mean": math.nan}])
def test_what_is_no_share_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(KernelError):
        share_of(variance=0.01, **wrong)


def test_variances_orders_levels_and_chances_that_cannot_be_are_refused() -> None:
    share = share_of(mean=0.1, variance=0.01)
    with pytest.raises(KernelError):
        share_of(mean=0.1, variance=-1.0)
    for pieces, level in ((0, 0.9), (10, 1.0)):
        with pytest.raises(KernelError):
            predicted_count(pieces=pieces, share=share, level=level)
    for wanted, chance in ((0, 0.9), (10, 1.0)):
        with pytest.raises(KernelError):
            pieces_to_begin(wanted=wanted, share=share, chance=chance)
