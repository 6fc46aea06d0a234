import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import expit

from logbook.errors import KernelError
from logbook.kernels import mixed


def record(family):
    generator = np.random.default_rng(4)
    fixed = np.column_stack([np.ones(30), generator.normal(size=30)])
    exposure, mean = generator.integers(1, 9, size=30), expit(fixed @ [-2.0, 1.0])
    count = (
        generator.binomial(exposure, mean)
        if family == "binomial"
        else generator.poisson(exposure * mean)
    )
    given = {"count": count, "exposure": exposure, "fixed": fixed, "groups": {}}
    return {"family": family} | given


@pytest.mark.parametrize("family", ["binomial", "poisson"])
def test_it_is_the_maximum_of_the_likelihood_with_jeffreys_prior(family):
    given = record(family)
    x, y, n = given["fixed"], given["count"], given["exposure"]

    def objective(beta):
        eta = x @ beta
        p = expit(eta)
        weight = n * p * (1 - p) if family == "binomial" else n * np.exp(eta)
        cumulant = n * np.log1p(np.exp(eta)) if family == "binomial" else weight
        return -(y @ eta - cumulant.sum()) - 0.5 * np.linalg.slogdet((x.T * weight) @ x)[1]

    fit = mixed.fit(**given, jeffreys_prior=True)
    found = minimize(objective, np.zeros(2), method="Nelder-Mead", options={"xatol": 1e-9})
    np.testing.assert_allclose(fit.fixed, found.x, atol=1e-5)
    assert fit.log_likelihood < mixed.fit(**given).log_likelihood


@pytest.mark.parametrize("family", ["binomial", "poisson"])
def test_no_defects_at_all_count_as_half_of_one(family):
    fit = mixed.fit(
        family=family,
        count=[0, 0],
        exposure=[40, 60],
        fixed=[[1], [1]],
        groups={},
        jeffreys_prior=True,
    )
    expected = np.log(0.5 / 100.5) if family == "binomial" else np.log(0.5 / 100)
    assert fit.converged
    assert fit.fixed[0] == pytest.approx(expected, abs=1e-8)


def test_a_repeated_column_has_no_estimate():
    given = record("binomial")
    wide = np.column_stack([given["fixed"], given["fixed"][:, 1]])
    fit = mixed.fit(**given | {"fixed": wide}, jeffreys_prior=True)
    alone = mixed.fit(**given, jeffreys_prior=True)
    assert np.isnan(fit.fixed[2])
    np.testing.assert_allclose(fit.fixed[:2], alone.fixed, atol=1e-8)


@pytest.mark.parametrize(
    "change", [{"groups": {"lot": np.arange(30) % 3}}, {"fixed_prior_sd": 2.0}]
)
def test_it_stands_alone(change):
    with pytest.raises(KernelError, match="jeffreys_prior"):
        mixed.fit(**record("binomial") | change, jeffreys_prior=True)
