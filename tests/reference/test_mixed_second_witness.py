"""Mixed models against general-purpose libraries on made-up records with fixed seeds.

No library at hand fits the Laplace approximation to counts with an exposure, so each witness
takes the part that it knows:

- statsmodels' ridge regression over dummy columns gives the modes of the levels, and with them
  the Laplace likelihood by its definition (Breslow & Clayton 1993, JASA 88:9-25, eq. 3);
- the marginal likelihood of one random intercept summed over a fine grid needs no approximation;
  what Laplace leaves out has a known leading term (Shun & McCullagh 1995, J R Stat Soc B 57:749);
- statsmodels' regression is the fit without groups, and the fit whose levels do not differ.
"""

import warnings

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import expit, logsumexp
from scipy.stats import binom, norm, poisson

from logbook.kernels import mixed

with warnings.catch_warnings():
    # statsmodels builds docstrings and touches pandas options on import; not our business.
    warnings.simplefilter("ignore")
    import statsmodels.api as sm

SIZES = {"lot": 9, "machine": 4}
SPREAD = {"lot": 0.7, "machine": 0.5}
FAMILIES = ["binomial", "poisson"]


def record(family, seed, names=("lot", "machine"), rows=70):
    generator = np.random.default_rng([2024, seed])
    groups = {name: generator.permutation(np.arange(rows) % SIZES[name]) for name in names}
    fixed = np.column_stack(
        [np.ones(rows), generator.normal(size=rows), generator.integers(2, size=rows)]
    )
    eta = fixed @ [-1.5, 0.4, -0.6]
    for name, codes in groups.items():
        eta += SPREAD[name] * generator.normal(size=SIZES[name])[codes]
    exposure = generator.integers(5, 40, size=rows)
    count = (
        generator.binomial(exposure, expit(eta))
        if family == "binomial"
        else generator.poisson(exposure * np.exp(eta))
    )
    given = {"count": count, "exposure": exposure, "fixed": fixed, "groups": groups}
    return {"family": family} | given


def regression(given, columns, offset=0.0):
    """The record as statsmodels takes it, on other columns."""
    count, exposure = given["count"], given["exposure"]
    offset = np.broadcast_to(offset, count.shape)
    if given["family"] == "binomial":
        both = np.column_stack([count, exposure - count])
        return sm.GLM(both, columns, sm.families.Binomial(), offset=offset)
    return sm.GLM(count, columns, sm.families.Poisson(), offset=offset + np.log(exposure))


def ridge_laplace(given, sd, fixed):
    """Modes of all levels by ridge regression, and the Laplace log likelihood there."""
    member = np.hstack([np.eye(SIZES[name])[codes] for name, codes in given["groups"].items()])
    scale = np.concatenate([np.full(SIZES[name], sd[name]) for name in given["groups"]])
    model = regression(given, member, given["fixed"] @ fixed)
    penalty = 1 / (len(member) * scale**2)
    modes = model.fit_regularized(alpha=penalty, L1_wt=0.0, start_params=0 * scale).params
    curvature = np.diag(scale**-2.0) - model.hessian(modes)
    density = model.loglike(modes) + norm.logpdf(modes, scale=scale).sum()
    return modes, density - 0.5 * np.linalg.slogdet(curvature / (2 * np.pi))[1]


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("family", FAMILIES)
def test_levels_and_likelihood_by_ridge_regression(family, seed):
    """Modes to 2e-4, the likelihood to 1e-4: the ridge search stops at a mean slope of 1e-5."""
    given = record(family, seed)
    fit = mixed.fit(**given)
    modes, log_likelihood = ridge_laplace(given, fit.sd, fit.fixed)
    np.testing.assert_allclose(np.concatenate([*fit.effects.values()]), modes, atol=2e-4)
    assert fit.log_likelihood == pytest.approx(log_likelihood, abs=1e-4)


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("family", FAMILIES)
def test_no_nearby_estimates_have_a_higher_likelihood_by_ridge_regression(family, seed):
    """A tenth of a standard error either way: the likelihood falls by about 0.005."""
    given = record(family, seed)
    fit = mixed.fit(**given)
    assert min(fit.sd.values()) > 0
    _, best = ridge_laplace(given, fit.sd, fit.fixed)
    for name, sd in fit.sd.items():
        for by in (0.85, 1.15):
            moved = fit.sd | {name: sd * by}
            assert ridge_laplace(given, moved, fit.fixed)[1] < best - 1e-3
    for column, error in enumerate(fit.fixed_se):
        for by in (-0.1, 0.1):
            moved = fit.fixed + by * error * np.eye(fit.fixed.size)[column]
            assert ridge_laplace(given, fit.sd, moved)[1] < best - 1e-3


GRID = np.linspace(-9, 9, 1201)


def marginal_log_likelihood(given, sd, fixed):
    """The log likelihood with one random intercept, each level summed over a fine grid."""
    ((_, codes),) = given["groups"].items()
    eta = (given["fixed"] @ fixed)[:, np.newaxis] + sd * GRID
    y, n = given["count"][:, np.newaxis], given["exposure"][:, np.newaxis]
    law = binom(n, expit(eta)) if given["family"] == "binomial" else poisson(n * np.exp(eta))
    by_level = np.zeros((codes.max() + 1, GRID.size))
    np.add.at(by_level, codes, law.logpmf(y))
    weight = norm.logpdf(GRID) + np.log(GRID[1] - GRID[0])
    return logsumexp(by_level + weight, axis=1).sum()


def leading_error(given, fit):
    """The next term of the expansion, level by level: 5 k3^2 / 24 - k4 / 8 in standard units."""
    ((name, codes),) = given["groups"].items()
    eta = given["fixed"] @ fit.fixed + fit.effects[name][codes]
    n = given["exposure"]
    if given["family"] == "binomial":
        p = expit(eta)
        second = n * p * (1 - p)
        third, fourth = second * (1 - 2 * p), second * (1 - 6 * p * (1 - p))
    else:
        second = third = fourth = n * np.exp(eta)
    second, third, fourth = (np.bincount(codes, each) for each in (second, third, fourth))
    total = second + fit.sd[name] ** -2.0
    return 5 * third**2 / (24 * total**3) - fourth / (8 * total**2)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("family", FAMILIES)
def test_likelihood_of_one_random_intercept_without_approximation(family, seed):
    """Laplace is off by its known next term; what remains is a tenth of that, or less."""
    given = record(family, seed, names=("lot",))
    fit = mixed.fit(**given)
    exact = marginal_log_likelihood(given, fit.sd["lot"], fit.fixed)
    error = leading_error(given, fit)
    assert abs(exact - fit.log_likelihood) < 1.1 * np.abs(error).sum()
    remaining = exact - fit.log_likelihood - error.sum()
    assert abs(remaining) < 0.1 * np.abs(error).sum()


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("family", FAMILIES)
def test_estimates_of_one_random_intercept_without_approximation(family, seed):
    """The exact maximum lies within a twentieth of a standard error."""
    given = record(family, seed, names=("lot",))
    fit = mixed.fit(**given)
    found = minimize(
        lambda at: -marginal_log_likelihood(given, np.exp(at[0]), at[1:]),
        np.concatenate([[np.log(0.5)], np.zeros(3)]),
        method="BFGS",
        options={"gtol": 1e-3},
    )
    assert np.abs((found.x[1:] - fit.fixed) / fit.fixed_se).max() < 0.05
    assert abs(np.exp(found.x[0]) - fit.sd["lot"]) < 0.02


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("family", FAMILIES)
def test_without_groups_it_is_the_plain_regression(family, seed):
    """1e-7: statsmodels stops where its deviance moves by less than 1e-8."""
    given = record(family, seed)
    fit = mixed.fit(**given | {"groups": {}})
    witness = regression(given, given["fixed"]).fit(tol=1e-12)
    np.testing.assert_allclose(fit.fixed, witness.params, atol=1e-5)
    np.testing.assert_allclose(fit.fixed_se, witness.bse, rtol=1e-4)
    assert fit.log_likelihood == pytest.approx(witness.llf, abs=1e-5)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("family", FAMILIES)
def test_levels_that_do_not_differ_leave_the_plain_regression(family, seed):
    one = record(family, seed, rows=15)
    given = {name: np.concatenate([one[name]] * 5) for name in ("count", "exposure", "fixed")}
    given |= {"family": family, "groups": {"lot": np.repeat(np.arange(5), 15)}}
    fit = mixed.fit(**given)
    witness = regression(given, given["fixed"]).fit(tol=1e-12)
    assert fit.sd["lot"] == 0
    np.testing.assert_allclose(fit.fixed, witness.params, atol=1e-5)
    np.testing.assert_allclose(fit.fixed_se, witness.bse, rtol=1e-4)
    assert fit.log_likelihood == pytest.approx(witness.llf, abs=1e-5)
