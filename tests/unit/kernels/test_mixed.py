import numpy as np
import pytest
from hard_mixed_problems import hard_problem
from scipy import optimize, stats
from scipy.special import expit

from logbook.errors import KernelError
from logbook.kernels import mixed
from logbook.kernels.mixed import front
from logbook.kernels.mixed.result import UNREAL_SD

LOTS, MACHINES, ROWS = 7, 3, 40


def shop(family, seed=1, lots_sd=0.8):
    """A small crossed record with a mild and a strong effect."""
    generator = np.random.default_rng(seed)
    lot, machine = generator.integers(LOTS, size=ROWS), generator.integers(MACHINES, size=ROWS)
    fixed = np.column_stack([np.ones(ROWS), generator.normal(size=ROWS)])
    exposure = generator.integers(5, 30, size=ROWS)
    eta = fixed @ [-1.0, 0.4] + lots_sd * generator.normal(size=LOTS)[lot]
    eta += 0.5 * generator.normal(size=MACHINES)[machine]
    count = (
        generator.binomial(exposure, expit(eta))
        if family == "binomial"
        else generator.poisson(exposure * np.exp(eta) / 5)
    )
    return {
        "family": family,
        "count": count,
        "exposure": exposure,
        "fixed": fixed,
        "groups": {"lot": lot, "machine": machine},
    }


def dense_laplace(given, sd, fixed, penalty=0.0):
    """The Laplace log likelihood by its definition: dense matrices, a general-purpose minimiser.

    The mode over the random effects themselves, and the determinant of the Hessian there.
    """
    groups = list(given["groups"].values())
    member = np.hstack([(g[:, np.newaxis] == np.unique(g)).astype(float) for g in groups])
    scale = np.concatenate([np.full(np.unique(g).size, s) for g, s in zip(groups, sd, strict=True)])
    y, n = np.asarray(given["count"]), np.broadcast_to(given["exposure"], len(given["count"]))
    binomial = given["family"] == "binomial"

    def parts(b):
        eta = given["fixed"] @ fixed + member @ b
        mean = n * expit(eta) if binomial else n * np.exp(eta)
        weight = mean * expit(-eta) if binomial else mean
        score = member.T @ (y - mean) - b / scale**2
        return eta, score, (member.T * weight) @ member + np.diag(scale**-2.0)

    b = np.zeros(member.shape[1])
    for _ in range(60):
        _, score, information = parts(b)
        step = np.linalg.solve(information, score)
        b = b + step / max(1.0, np.abs(step).max())
    eta, score, information = parts(b)
    assert np.abs(score).max() < 1e-8
    law = stats.binom(n, expit(eta)) if binomial else stats.poisson(n * np.exp(eta))
    density = law.logpmf(y).sum() + stats.norm.logpdf(b, scale=scale).sum()
    half = 0.5 * np.linalg.slogdet(information / (2 * np.pi))[1]
    return density - half - penalty


def brute_force(given, *, prior_sd=np.inf, avoiding=False):
    k, p = len(given["groups"]), given["fixed"].shape[1]

    def objective(parameters):
        sd, fixed = np.abs(parameters[:k]) + 1e-9, parameters[k:]
        penalty = 0.5 * np.sum((fixed / prior_sd) ** 2) - avoiding * np.log(sd).sum()
        return -dense_laplace(given, sd, fixed, penalty)

    start = np.concatenate([np.full(k, 0.6), np.zeros(p)])
    found = optimize.minimize(objective, start, method="BFGS", options={"gtol": 1e-5})
    return np.abs(found.x[:k]), found.x[k:], found


@pytest.mark.parametrize(("family", "seed"), [("binomial", 1), ("binomial", 2), ("poisson", 3)])
def test_the_fit_is_that_of_a_brute_force_maximiser(family, seed):
    given = shop(family, seed)
    fit = mixed.fit(**given)
    sd, fixed, found = brute_force(given)
    np.testing.assert_allclose(list(fit.sd.values()), sd, atol=2e-4)
    np.testing.assert_allclose(fit.fixed, fixed, atol=1e-4)
    assert fit.log_likelihood == pytest.approx(-found.fun, abs=1e-7)
    at_fit = dense_laplace(given, list(fit.sd.values()), fit.fixed)
    assert fit.log_likelihood == pytest.approx(at_fit, abs=1e-8)


def test_standard_errors_are_those_of_the_curvature():
    """Second differences of the dense likelihood over standard deviations and coefficients."""
    given = shop("binomial")
    fit = mixed.fit(**given)
    best = np.concatenate([list(fit.sd.values()), fit.fixed])

    def value(parameters):
        return -dense_laplace(given, parameters[:2], parameters[2:])

    h, steps = 1e-3, np.eye(4) * 1e-3
    hessian = np.array(
        [
            [
                value(best + a + b)
                - value(best + a - b)
                - value(best - a + b)
                + value(best - a - b)
                for a in steps
            ]
            for b in steps
        ]
    ) / (4 * h**2)
    expected = np.sqrt(np.diag(np.linalg.inv(hessian)))
    np.testing.assert_allclose(fit.fixed_se, expected[2:], rtol=2e-3)
    np.testing.assert_allclose(np.sqrt(np.diag(fit.fixed_covariance)), fit.fixed_se)


@pytest.mark.parametrize("family", ["binomial", "poisson"])
def test_priors_give_the_brute_force_maximum_of_the_penalised_likelihood(family):
    given = shop(family, seed=5, lots_sd=0.1)
    prior_sd = np.array([np.inf, 0.2])
    fit = mixed.fit(**given, fixed_prior_sd=prior_sd, boundary_avoiding=True)
    sd, fixed, _ = brute_force(given, prior_sd=prior_sd, avoiding=True)
    np.testing.assert_allclose(list(fit.sd.values()), sd, atol=5e-4)
    np.testing.assert_allclose(fit.fixed, fixed, atol=2e-4)
    plain = dense_laplace(given, list(fit.sd.values()), fit.fixed)
    assert fit.log_likelihood == pytest.approx(plain, abs=1e-8)


def test_a_prior_keeps_a_separated_column_finite():
    given = {
        "family": "binomial",
        "count": [3, 2, 0, 0],
        "exposure": [20, 20, 20, 20],
        "fixed": np.array([[1.0, 0], [1, 0], [1, 1], [1, 1]]),
        "groups": {},
    }
    assert mixed.fit(**given).separated == (1,)
    fit = mixed.fit(**given, fixed_prior_sd=[np.inf, 1.5])
    assert fit.separated == ()
    assert -4 < fit.fixed[1] < -0.5
    shift = expit(fit.fixed.sum())
    # The score of the penalised likelihood by the second column is 0.
    assert -40 * shift == pytest.approx(fit.fixed[1] / 1.5**2, rel=1e-6)


def test_a_spread_below_chance_is_exactly_the_plain_fit():
    generator = np.random.default_rng(8)
    fixed = np.column_stack([np.ones(60), generator.normal(size=60)])
    given = {
        "family": "poisson",
        "count": np.tile([3, 4, 5], 20),
        "exposure": np.tile([30.0, 40.0, 50.0], 20),
        "fixed": fixed,
    }
    flat = mixed.fit(**given, groups={"lot": np.arange(60) // 6, "row": np.arange(60)})
    plain = mixed.fit(**given, groups={})
    assert flat.sd == {"lot": 0.0, "row": 0.0}
    np.testing.assert_allclose(flat.fixed, plain.fixed, atol=1e-8)
    np.testing.assert_allclose(flat.fixed_se, plain.fixed_se, rtol=1e-4)
    assert flat.log_likelihood == pytest.approx(plain.log_likelihood, abs=1e-5)
    assert not flat.effects["row"].any()
    assert not flat.effects_sd["lot"].any()
    assert sum("estimated as 0" in warning for warning in flat.warnings) == 2
    assert flat.converged


def test_one_group_at_its_boundary_leaves_the_other_its_own_fit():
    given = shop("binomial", seed=1)
    # Halves of like numbers of defects.
    idle = np.argsort(np.argsort(given["count"] / given["exposure"])) % 2
    both = mixed.fit(**given | {"groups": {"idle": idle, "lot": given["groups"]["lot"]}})
    alone = mixed.fit(**given | {"groups": {"lot": given["groups"]["lot"]}})
    assert both.sd["idle"] == 0
    assert both.sd["lot"] == pytest.approx(alone.sd["lot"], abs=1e-6)
    np.testing.assert_allclose(both.fixed, alone.fixed, atol=1e-6)
    np.testing.assert_allclose(both.fixed_se, alone.fixed_se, rtol=1e-4)


def test_a_column_that_repeats_others_has_no_estimate():
    given = shop("binomial", seed=2)
    x = given["fixed"]
    wide = np.column_stack([x[:, 0], x[:, 1], 2 * x[:, 0] - x[:, 1], x[:, 1] ** 2])
    fit = mixed.fit(**given | {"fixed": wide})
    without = mixed.fit(**given | {"fixed": wide[:, [0, 1, 3]]})
    assert np.isnan(fit.fixed).tolist() == [False, False, True, False]
    assert np.isnan(fit.fixed_se).tolist() == [False, False, True, False]
    np.testing.assert_allclose(fit.fixed[[0, 1, 3]], without.fixed, rtol=1e-7)
    np.testing.assert_allclose(fit.fixed_se[[0, 1, 3]], without.fixed_se, rtol=1e-5)
    assert any("Column 2" in warning for warning in fit.warnings)


@pytest.mark.parametrize("family", ["binomial", "poisson"])
def test_no_defect_anywhere_is_a_result(family):
    given = shop(family) | {"count": np.zeros(ROWS)}
    fit = mixed.fit(**given)
    assert fit.log_likelihood == pytest.approx(0, abs=1e-6)
    assert fit.fixed[0] < -15
    assert np.isfinite([fit.fixed, fit.fixed_se]).all()
    assert fit.sd == {"lot": 0.0, "machine": 0.0}
    assert 0 in fit.separated
    assert fit.converged


def test_a_level_without_defects_among_the_fixed_of_a_poisson_fit():
    given = shop("poisson", seed=4)
    column = np.arange(ROWS) % 4 == 0
    given["count"] = np.where(column, 0, given["count"])
    fit = mixed.fit(**given | {"fixed": np.column_stack([given["fixed"], column])})
    rest = {name: np.asarray(given[name])[~column] for name in ("count", "exposure", "fixed")}
    groups = {name: code[~column] for name, code in given["groups"].items()}
    without = mixed.fit(family="poisson", **rest, groups=groups)
    assert fit.separated == (2,)
    np.testing.assert_allclose(fit.fixed[:2], without.fixed, atol=1e-6)
    assert fit.log_likelihood == pytest.approx(without.log_likelihood, abs=1e-8)


def test_separation_of_separation():
    # Column 1 separates first, then among the rest column 2 does; column 3 stays finite.
    fixed = np.column_stack(
        [np.ones(8), [0, 0, 0, 0, 0, 0, 1, 1], [0, 0, 0, 0, 1, 1, 1, 0], [0, 1, 0, 1, 0, 1, 0, 1]]
    )
    fit = mixed.fit(
        family="binomial", count=[1, 3, 2, 3, 0, 0, 9, 9], exposure=9, fixed=fixed, groups={}
    )
    assert fit.separated == (1, 2)
    assert np.isfinite([fit.fixed, fit.fixed_se]).all()
    rest = mixed.fit(
        family="binomial", count=[1, 3, 2, 3], exposure=9, fixed=fixed[:4, [0, 3]], groups={}
    )
    np.testing.assert_allclose(fit.fixed[[0, 3]], rest.fixed, atol=1e-8)
    fitted = expit(fixed @ fit.fixed)
    np.testing.assert_allclose(fitted[4:], [0, 0, 1, 1], atol=1e-8)


def test_lots_all_or_nothing_do_not_run_away():
    lot = np.repeat(np.arange(8), 2)
    fit = mixed.fit(
        family="binomial",
        count=np.where(lot % 2 == 0, 50, 0),
        exposure=50,
        fixed=np.ones((16, 1)),
        groups={"lot": lot},
    )
    assert 3 < fit.sd["lot"] <= 30
    assert np.isfinite([*fit.fixed, *fit.fixed_se, fit.log_likelihood]).all()


def test_groups_that_divide_the_rows_alike_count_once():
    given = shop("binomial")
    lot = given["groups"]["lot"]
    fit = mixed.fit(**given | {"groups": {"lot": lot, "supplier": 9 - lot}})
    alone = mixed.fit(**given | {"groups": {"lot": lot}})
    assert fit.sd == {"lot": alone.sd["lot"], "supplier": 0.0}
    assert fit.effects["supplier"].tolist() == [0.0] * LOTS
    assert any("'supplier' divides the rows as 'lot' does" in text for text in fit.warnings)


def test_a_group_of_one_level_is_told():
    given = shop("binomial")
    fit = mixed.fit(**given | {"groups": {"site": np.zeros(ROWS, dtype=int)}})
    assert fit.sd == {"site": 0.0}
    assert any("single level" in warning for warning in fit.warnings)


def test_rows_without_exposure_are_left_out_but_their_levels_kept():
    given = shop("binomial", seed=2)
    more = {
        "family": "binomial",
        "count": np.append(given["count"], [0, 0]),
        "exposure": np.append(given["exposure"], [0, 0]),
        "fixed": np.vstack([given["fixed"], [[1, 3], [1, 4]]]),
        "groups": {
            "lot": np.append(given["groups"]["lot"], [99, 0]),
            "machine": np.append(given["groups"]["machine"], [0, 0]),
        },
    }
    with_empty, fit = mixed.fit(**more), mixed.fit(**given)
    np.testing.assert_allclose(with_empty.fixed, fit.fixed, atol=1e-6)
    assert with_empty.levels["lot"].tolist() == [*range(LOTS), 99]
    assert with_empty.effects["lot"][-1] == 0
    assert with_empty.effects_sd["lot"][-1] == pytest.approx(with_empty.sd["lot"])
    assert "2 rows without exposure were left out." in with_empty.warnings


def test_without_columns_there_is_only_spread():
    given = shop("poisson") | {"fixed": np.zeros((ROWS, 0))}
    fit = mixed.fit(**given)
    assert fit.fixed.shape == (0,)
    assert fit.sd["lot"] > 0


WRONG = {
    "gamma": ({"family": "gamma"}, "no family"),
    "more than all": ({"count": np.full(ROWS, 99)}, "cannot exceed"),
    "negative": ({"count": np.full(ROWS, -1)}, "not be negative"),
    "nothing": ({"count": np.zeros(ROWS), "exposure": np.zeros(ROWS)}, "No row"),
    "short": ({"fixed": np.ones((3, 1))}, "40 rows"),
    "flat": ({"fixed": np.ones(ROWS)}, "matrix"),
    "hole": ({"fixed": np.full((ROWS, 1), np.nan)}, "row 0, column 0"),
    "words": ({"groups": {"lot": np.full(ROWS, "a")}}, "integer codes"),
    "short codes": ({"groups": {"lot": np.zeros(3, dtype=int)}}, "one code for each"),
    "unknown lot": ({"groups": {"lot": np.full(ROWS, -1)}}, "negative code"),
    "prior": ({"fixed_prior_sd": 0}, "above 0"),
    "priors": ({"fixed_prior_sd": [1, 2, 3]}, "2 columns"),
    "both": ({"jeffreys_prior": True}, "without groups"),
    "offset": ({"offset": [1.0, 2.0]}, "offset"),
}


@pytest.mark.parametrize("what", WRONG)
def test_arguments_that_cannot_be_are_refused(what):
    change, sentence = WRONG[what]
    with pytest.raises(KernelError, match=sentence):
        mixed.fit(**shop("binomial") | change)


MORE_THAN_ONE_PEAK = [238, 368]


@pytest.mark.parametrize("seed", MORE_THAN_ONE_PEAK)
def test_more_starts_find_a_higher_peak_than_the_first(seed, monkeypatch):
    given = hard_problem(seed)
    fit = mixed.fit(**given)
    monkeypatch.setattr(front, "MOST_STARTS", 1)
    first = mixed.fit(**given)
    assert fit.log_likelihood > first.log_likelihood + 1e-3
    assert fit.converged
    assert max(fit.sd.values()) < UNREAL_SD


@pytest.mark.parametrize("seed", range(30_000, 30_040, 2))
def test_hard_records_end_settled_and_not_below_a_simpler_fit(seed):
    """A simpler fit with an unreal spread does not count."""
    given = hard_problem(seed)
    fit = mixed.fit(**given)
    assert fit.converged
    for name in given["groups"]:
        fewer = {other: codes for other, codes in given["groups"].items() if other != name}
        simpler = mixed.fit(**given | {"groups": fewer})
        if max(simpler.sd.values(), default=0.0) < UNREAL_SD:
            assert fit.log_likelihood > simpler.log_likelihood - 1e-4


@pytest.mark.parametrize("family", ["binomial", "poisson"])
def test_jeffreys_prior_gives_the_maximum_of_the_penalised_likelihood(family):
    generator = np.random.default_rng(4)
    x = np.column_stack([np.ones(30), generator.normal(size=30)])
    n, mean = generator.integers(1, 9, size=30), expit(x @ [-2.0, 1.0])
    y = generator.binomial(n, mean) if family == "binomial" else generator.poisson(n * mean)

    def objective(beta):
        eta = x @ beta
        p = expit(eta)
        weight = n * p * (1 - p) if family == "binomial" else n * np.exp(eta)
        cumulant = n * np.log1p(np.exp(eta)) if family == "binomial" else weight
        return -(y @ eta - cumulant.sum()) - 0.5 * np.linalg.slogdet((x.T * weight) @ x)[1]

    fit = mixed.fit(family=family, count=y, exposure=n, fixed=x, groups={}, jeffreys_prior=True)
    found = optimize.minimize(objective, np.zeros(2), method="Nelder-Mead", options={"xatol": 1e-9})
    np.testing.assert_allclose(fit.fixed, found.x, atol=1e-5)


def test_exposures_of_very_different_size_and_large_counts():
    generator = np.random.default_rng(6)
    lot = generator.integers(20, size=300)
    exposure = 10.0 ** generator.uniform(-3, 7, size=300)
    eta = -2 + 0.5 * generator.normal(size=20)[lot]
    fit = mixed.fit(
        family="poisson",
        count=generator.poisson(exposure * np.exp(eta)),
        exposure=exposure,
        fixed=np.ones((300, 1)),
        groups={"lot": lot},
    )
    assert fit.converged
    assert fit.sd["lot"] == pytest.approx(0.5, rel=0.35)
    assert fit.fixed[0] == pytest.approx(-2, abs=3 * fit.fixed_se[0])


def test_neither_columns_nor_groups_is_a_result():
    given = shop("binomial") | {"fixed": np.zeros((ROWS, 0)), "groups": {}}
    fit = mixed.fit(**given)
    assert fit.fixed.size == 0
    assert fit.log_likelihood == pytest.approx(
        stats.binom.logpmf(given["count"], given["exposure"], 0.5).sum()
    )


def test_a_model_without_columns_or_groups_has_a_likelihood_and_nothing_else() -> None:
    count, exposure = np.array([1.0, 2, 3, 4, 5, 6]), np.ones(6)
    fit = mixed.fit(
        family="poisson", count=count, exposure=exposure, fixed=np.zeros((6, 0)), groups={}
    )
    assert fit.fixed.shape == (0,)
    assert fit.fixed_se.shape == (0,)
    assert fit.sd == {}
    assert fit.log_likelihood == pytest.approx(float(stats.poisson(1.0).logpmf(count).sum()))
