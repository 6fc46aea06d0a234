"""Shrunken ratios where nothing differs, where one level does, and what cannot be taken."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.errors import KernelError
from logbook.kernels.funnel_limits import dispersion
from logbook.kernels.shrunken_ratios import GammaPrior, shrunken_ratios


def test_levels_that_are_alike_are_drawn_to_one() -> None:
    rng = np.random.default_rng(3)
    expected = rng.gamma(2.0, 10.0, 200)
    found = shrunken_ratios(observed=rng.poisson(expected), expected=expected)
    assert np.abs(found.shrunken - 1).mean() < 0.3 * np.abs(found.ratio - 1).mean()
    assert ((found.lower < 1) & (found.upper > 1)).mean() > 0.98


def test_one_bad_level_among_many_stands() -> None:
    rng = np.random.default_rng(4)
    expected = np.full(80, 4.0)
    observed = rng.poisson(expected)
    observed[7] = 24
    found = shrunken_ratios(observed=observed, expected=expected)
    assert found.shrunken[7] > 4.0
    assert found.lower[7] > 2.5
    assert found.chance_above[7] > 0.999
    assert found.chance_above.argmax() == 7


def test_a_level_without_expectation_says_nothing_but_the_prior() -> None:
    found = shrunken_ratios(observed=[0, 5], expected=[0.0, 5.0], prior=GammaPrior(3, 3, np.nan))
    assert np.isnan(found.ratio[0])
    assert found.shrunken[0] == pytest.approx(1.0)
    assert found.lower[0] < found.lower[1]


@pytest.mark.parametrize(
    ("observed", "expected"), [([-1], [1]), ([1], [np.nan]), ([0, 0], [0, 0]), ([1, 2], [1, 2, 3])]
)
def test_what_cannot_be_is_refused(observed: list[float], expected: list[float]) -> None:
    with pytest.raises(KernelError):
        shrunken_ratios(observed=observed, expected=expected)


def test_one_level_has_no_spread() -> None:
    found = dispersion(observed=[3.0, 0.0], expected=[2.0, 0.0])
    assert np.isnan(found.phi)
    assert found.tau_squared == 0.0
