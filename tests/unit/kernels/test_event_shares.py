"""One place above its share: published chi-square cases, and the level under the null."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from logbook.errors import KernelError
from logbook.kernels.event_shares import against_expected


def test_mendels_peas() -> None:
    """Mendel (1866), round or wrinkled by yellow or green: 315, 101, 108, 32 against 9:3:3:1.

    Chi-square 0.47 on 3 degrees of freedom, P about 0.92: a standard textbook example (figures
    from memory; held against scipy as well).
    """
    fit = against_expected(count=[315, 101, 108, 32], work=[9, 3, 3, 1])
    assert fit.chi_square == pytest.approx(0.470, abs=5e-4)
    assert fit.chi_square_p == pytest.approx(0.925, abs=1e-3)
    assert fit.p_value == pytest.approx(0.925, abs=0.01)


def test_the_documented_example_of_r() -> None:
    """R's help page of chisq.test, with rescale.p: X-squared 9.9901, df 4, p-value 0.04059."""
    counts, work = [89, 37, 30, 28, 2], [40, 20, 20, 15, 5]
    fit = against_expected(count=counts, work=work)
    assert fit.chi_square == pytest.approx(9.9901433691756267)
    assert fit.chi_square_p == pytest.approx(0.040594043344781221)
    witness = stats.chisquare(counts, np.array(work) / sum(work) * sum(counts))
    assert (fit.chi_square, fit.chi_square_p) == pytest.approx((witness.statistic, witness.pvalue))


def test_drawn_p_values_agree_with_an_exact_multinomial_test() -> None:
    """Every set of six events over three places, listed by scipy's multinomial."""
    counts, work = np.array([5, 1, 0]), np.array([0.3, 0.5, 0.2])
    means = 6 * work
    observed = ((counts - means) ** 2 / means).sum()
    exact = 0.0
    for first in range(7):
        for second in range(7 - first):
            each = np.array([first, second, 6 - first - second])
            if ((each - means) ** 2 / means).sum() >= observed - 1e-9:
                exact += stats.multinomial.pmf(each, 6, work)
    fit = against_expected(count=counts, work=work, draws=100_000)
    assert fit.p_value == pytest.approx(exact, abs=0.003)


def test_a_head_that_breaks_most_threads_is_found() -> None:
    fit = against_expected(count=[2, 3, 19, 1], work=[1, 1, 1, 1])
    assert fit.largest == 2
    assert fit.largest_p < 0.001
    assert fit.share[2] == pytest.approx(19 / 25)
    assert fit.lower[2] > 0.5 > fit.expected_share[2]


def test_one_worst_place_is_named_no_oftener_than_promised() -> None:
    random = np.random.default_rng(7)
    work = np.array([4.0, 2.0, 1.0, 1.0])
    sets = random.multinomial(30, work / work.sum(), size=400)
    called = [against_expected(count=each, work=work, draws=500).largest_p <= 0.05 for each in sets]
    assert np.mean(called) < 0.05 + 3 * np.sqrt(0.05 * 0.95 / 400)
    assert np.mean(called) > 0.01


def test_places_without_work_count_for_nothing() -> None:
    with_idle = against_expected(count=[5, 1, 0], work=[1, 1, 0])
    without = against_expected(count=[5, 1], work=[1, 1])
    assert with_idle.chi_square_p == pytest.approx(without.chi_square_p)
    assert with_idle.largest == 0


@pytest.mark.parametrize(
    ("count", "work", "said"),
    [
        ([3], [1], "two places"),
        ([3, 1], [1, 0], "two places"),
        ([0, 0], [1, 1], "at least one"),
        ([1.5, 1], [1, 1], "whole"),
        ([1, 1, 1], [1, 1, 0], "no work"),
        ([1, 1], [1, 1, 1], "two places"),
    ],
)
def test_what_cannot_be_compared_is_said(count: list[float], work: list[float], said: str) -> None:
    with pytest.raises(KernelError, match=said):
        against_expected(count=count, work=work)
