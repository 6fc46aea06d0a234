"""Funnel limits: Spiegelhalter (2005), Statistics in Medicine 24:1185-1202."""

from __future__ import annotations

import numpy as np
import pytest
from cases import load
from scipy import stats

from logbook.kernels.funnel_limits import between_variance, dispersion, funnel_limits
from logbook.kernels.shrunken_ratios import gamma_prior


def test_additive_variance_is_the_moment_estimate_of_meta_analysis():
    """BCG trials: tau squared 0.3088 (Viechtbauer 2010, J. Statistical Software 36(3), p. 15)."""
    case = load("mh_bcg_13_trials")
    names = ("events_1", "nonevents_1", "events_2", "nonevents_2")
    a, b, c, d = np.array([[row[name] for name in names] for row in case.inputs["strata"]]).T
    effect = np.log((a / (a + b)) / (c / (c + d)))
    weight = 1.0 / (1 / a - 1 / (a + b) + 1 / c - 1 / (c + d))
    scores = np.sqrt(weight) * (effect - np.average(effect, weights=weight))
    assert between_variance(scores=scores, weights=weight) == pytest.approx(0.3088, abs=5e-5)


def test_heart_transplants_differ_as_the_gamma_model_says():
    """Christiansen & Morris's 94 hospitals: phi is Pearson's; both estimates of spread are near."""
    case = load("gammapoisson_heart_transplants")
    events, exposure = (np.array(case.inputs[key]) for key in ("events", "exposure"))
    expected = exposure * events.sum() / exposure.sum()
    found = dispersion(observed=events, expected=expected, winsorised=0.0)
    assert found.phi == pytest.approx(stats.chisquare(events, expected).statistic / events.size)
    prior = gamma_prior(observed=events, expected=expected)
    assert found.tau_squared == pytest.approx(prior.mean**2 / prior.shape, rel=0.5)


@pytest.mark.parametrize("tau_squared", [0.0, 0.09])
def test_limits_leave_out_what_they_say(tau_squared):
    """Between whole counts the interpolated chance is exact on average (appendix A.1.2)."""
    expected = np.linspace(20, 400, 300)
    limits = funnel_limits(expected=expected, level=0.95, tau_squared=tau_squared)
    size = 1 / tau_squared if tau_squared else None
    law = stats.nbinom(size, size / (size + expected)) if size else stats.poisson(expected)
    above = law.sf(np.floor(limits.upper * expected))
    below = law.cdf(np.ceil(limits.lower * expected) - 1)
    assert above.mean() == pytest.approx(0.025, abs=0.003)
    assert below.mean() == pytest.approx(0.025, abs=0.004)


def test_large_levels_have_the_normal_limits_of_the_paper():
    limits = funnel_limits(expected=[40_000.0], level=0.998, tau_squared=0.0004)
    half = 3.0902 * np.sqrt(1 / 40_000 + 0.0004)
    assert limits.upper[0] == pytest.approx(1 + half, abs=0.003)
    assert limits.lower[0] == pytest.approx(1 - half, abs=0.003)


def test_winsorising_keeps_an_outlier_from_excusing_itself():
    rng = np.random.default_rng(5)
    expected = np.full(40, 25.0)
    observed = rng.poisson(expected).astype(float)
    observed[0] = 120.0
    held = dispersion(observed=observed, expected=expected)
    assert held.phi < 1.5 < dispersion(observed=observed, expected=expected, winsorised=0.0).phi
