"""Shrunken rates and ratios: published gamma-Poisson cases.

Clayton & Kaldor (1987), Biometrics 43:671-681, table 1: male lip cancer in the 56 districts of
Scotland, 1975-1980 (observed, expected to one decimal, as the GeoBUGS manual prints them). Their
estimates, shape 1.88 and rate 1.32, are quoted from memory; statsmodels' negative binomial is the
second witness. The other two cases and their sources are in ``data/``.
"""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from cases import load
from scipy import integrate, stats

from logbook.kernels.shrunken_ratios import GammaPrior, gamma_prior, shrunken_ratios

# fmt: off
OBSERVED = np.array([
    9, 39, 11, 9, 15, 8, 26, 7, 6, 20, 13, 5, 3, 8, 17, 9, 2, 7, 9, 7, 16, 31, 11, 7, 19, 15, 7,
    10, 16, 11, 5, 3, 7, 8, 11, 9, 11, 8, 6, 4, 10, 8, 2, 6, 19, 3, 2, 3, 28, 6, 1, 1, 1, 1, 0, 0,
])
EXPECTED = np.array([
    1.4, 8.7, 3.0, 2.5, 4.3, 2.4, 8.1, 2.3, 2.0, 6.6, 4.4, 1.8, 1.1, 3.3, 7.8, 4.6, 1.1, 4.2, 5.5,
    4.4, 10.5, 22.7, 8.8, 5.6, 15.5, 12.5, 6.0, 9.0, 14.4, 10.2, 4.8, 2.9, 7.0, 8.5, 12.3, 10.1,
    12.7, 9.4, 7.2, 5.3, 18.8, 15.8, 4.3, 14.6, 50.7, 8.2, 5.6, 9.3, 88.7, 19.6, 3.4, 3.6, 5.7,
    7.0, 4.2, 1.8,
])
# fmt: on


@pytest.mark.parametrize("name", ["gammapoisson_heart_transplants", "gammapoisson_pumps"])
def test_published_rates_are_shrunk_as_published(name):
    case = load(name)
    counts, exposure = case.inputs["events"], case.inputs["exposure"]
    prior = gamma_prior(observed=counts, expected=exposure)
    case.check("alpha", prior.shape)
    case.check("beta", prior.rate)
    case.check("mean_rate", prior.mean)
    case.check("logLik", prior.log_likelihood)
    found = shrunken_ratios(observed=counts, expected=exposure, prior=prior)
    case.check("posterior_mean", found.shrunken)
    case.check("posterior_lo", found.lower)
    case.check("posterior_hi", found.upper)


def test_lip_cancer_prior_is_that_of_clayton_and_kaldor():
    prior = gamma_prior(observed=OBSERVED, expected=EXPECTED)
    assert prior.shape == pytest.approx(1.88, abs=0.01)
    assert prior.rate == pytest.approx(1.32, abs=0.01)
    witness = sm.NegativeBinomial(OBSERVED, np.ones(56), offset=np.log(EXPECTED)).fit(disp=0)
    assert prior.shape == pytest.approx(1.0 / witness.params[1], rel=1e-4)
    assert prior.mean == pytest.approx(np.exp(witness.params[0]), rel=1e-4)
    assert prior.log_likelihood == pytest.approx(witness.llf, abs=1e-6)


def test_lip_cancer_ratios_are_posterior_means():
    """Their equation: (observed + shape) / (expected + rate); Skye-Lochalsh comes down to 4.0."""
    prior = gamma_prior(observed=OBSERVED, expected=EXPECTED)
    found = shrunken_ratios(observed=OBSERVED, expected=EXPECTED, prior=prior)
    assert found.shrunken == pytest.approx((OBSERVED + prior.shape) / (EXPECTED + prior.rate))
    assert found.ratio[0] == pytest.approx(6.43, abs=0.005)
    assert found.shrunken[0] == pytest.approx(4.0, abs=0.05)


def test_mixtures_are_those_of_numerical_integration():
    """The posterior of DuMouchel's mixture, integrated by scipy over every spread by hand."""
    from logbook.kernels import shrunken_ratios as kernel

    counts, expect = np.array([17.0, 3.0, 0.0]), np.array([3.0, 3.1, 4.2])

    def prior(ratio: float, spread: float) -> float:
        usual = stats.gamma(spread**-2, scale=spread**2).pdf(ratio)
        apart = stats.gamma(kernel.APART_SHAPE, scale=1 / kernel.APART_RATE).pdf(ratio)
        return float((1 - kernel.APART) * usual + kernel.APART * apart)

    def over(level: int, spread: float, *, weigh: bool = False) -> float:
        def inside(ratio: float) -> float:
            likely = stats.poisson(expect[level] * ratio).pmf(counts[level])
            return float(likely * prior(ratio, spread) * (ratio if weigh else 1.0))

        return float(integrate.quad(inside, 0, 25, points=[0.9, 1.0, 1.1], limit=200)[0])

    spreads = kernel.SPREADS[4:]  # narrower ones are spikes to an integrator
    alone = np.array([[over(level, each) for each in spreads] for level in range(3)])
    means = np.array([[over(level, each, weigh=True) for each in spreads] for level in range(3)])
    before = spreads * np.exp(-0.5 * (spreads / kernel.USUAL_SPREAD) ** 2)
    weights = before * alone.prod(axis=0)
    by_hand = (means / alone) @ (weights / weights.sum())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kernel, "SPREADS", spreads)
        found = shrunken_ratios(observed=counts, expected=expect)
    assert found.shrunken == pytest.approx(by_hand, rel=1e-6)


def test_luck_widens_and_a_known_prior_is_taken():
    prior = GammaPrior(4.0, 4.0, np.nan)
    plain = shrunken_ratios(observed=[30], expected=[10], prior=prior)
    lucky = shrunken_ratios(observed=[30], expected=[10], prior=prior, luck=0.2)
    assert lucky.shrunken[0] < plain.shrunken[0]
    assert lucky.upper[0] / lucky.lower[0] > 1.3 * plain.upper[0] / plain.lower[0]
    assert lucky.chance_above[0] < plain.chance_above[0]
