"""Generalized linear mixed models by the Laplace approximation.

Bates, Maechler, Bolker & Walker (2015), J Stat Software 67(1), and lme4's documentation (cbpp);
Breslow & Clayton (1993), JASA 88:9-25 (epilepsy data of Thall & Vail 1990); McCullagh & Nelder
(1989), Generalized Linear Models, sec. 14.5 (salamanders); Tippett (1950) in R (warpbreaks);
Heinze & Schemper (2002), Stat Med 21:2409 (endometrial cancer); seeded simulations. Expected
values were recomputed with lme4, glmmTMB and a separate program to 5 digits, with the inner loop
run to the end: lme4's default stops it early and differs in the 4th digit, which is what the
cases' tolerances (0.002 on coefficients, 2 % on standard errors) leave room for.
"""

import csv
import json
from dataclasses import replace

import numpy as np
import pytest
from cases import DATA, load
from scipy.optimize import brentq
from scipy.stats import chi2

from logbook.kernels import intervals, mixed
from logbook.kernels import setup_model as engine
from logbook.kernels.setup_model.objective import LAPLACE, RESTRICTED
from logbook.kernels.setup_model.setups import Setups
from logbook.kernels.setup_model.terms import Term


def table(case):
    """The case's data: column name -> array of text."""
    name = case.inputs["data_csv"]
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {column: np.array([row[column] for row in rows]) for column in rows[0]}


def number(data, *names):
    return np.column_stack([data[name].astype(float) for name in names])


def dummies(values, *levels):
    return np.column_stack([values == level for level in levels]).astype(float)


def codes(values):
    return np.unique(values, return_inverse=True)[1]


def ones(data):
    return np.ones((len(next(iter(data.values()))), 1))


def check(case, key, got):
    """Fail unless the named values agree within the case's tolerance, all names asked for."""
    allowed = case.tolerance.get(key, case.tolerance["default"])
    np.testing.assert_allclose(
        np.asarray(got, dtype=float),
        np.array(list(case.expected[key].values()), dtype=float),
        rtol=allowed.get("rel", 0.0),
        atol=allowed.get("abs", 0.0),
        err_msg=f"{case.name}: {key}",
    )


def cbpp(case):
    data = table(case)
    return {
        "family": "binomial",
        "count": data["incidence"].astype(int),
        "exposure": data["size"].astype(int),
        "fixed": np.hstack([ones(data), dummies(data["period"], "2", "3", "4")]),
        "groups": {"herd": data["herd"].astype(int)},
    }


def cbpp_obs(case):
    given = cbpp(case)
    return given | {"groups": {"obs": np.arange(given["count"].size)} | given["groups"]}


def salamander(case):
    data = table(case)
    return {
        "family": "binomial",
        "count": data["Mate"].astype(int),
        "exposure": 1,
        "fixed": np.hstack([ones(data), dummies(data["Cross"], "RW", "WR", "WW")]),
        "groups": {"Female": codes(data["Female"]), "Male": codes(data["Male"])},
    }


def epil(case):
    data = table(case)
    treated = dummies(data["trt"], "progabide")
    base = np.log(number(data, "base") / 4)
    age, fourth = np.log(number(data, "age")), number(data, "V4")
    return {
        "family": "poisson",
        "count": data["y"].astype(int),
        "exposure": 1,
        "fixed": np.hstack([ones(data), base, treated, age, fourth, base * treated]),
        "groups": {"subject": data["subject"].astype(int)},
    }


def offset_lot(case):
    data = table(case)
    return {
        "family": "poisson",
        "count": data["thread_breaks"].astype(int),
        "exposure": data["stitches"].astype(float) / 1000,
        "fixed": np.hstack([ones(data), dummies(data["fabric"], "twill", "woven")]),
        "groups": {"lot": codes(data["lot"])},
    }


def warpbreaks(case):
    data = table(case)
    wool, tension = dummies(data["wool"], "B"), dummies(data["tension"], "M", "H")
    return {
        "family": "poisson",
        "count": data["breaks"].astype(int),
        "exposure": 1,
        "fixed": np.hstack([ones(data), wool, tension, wool * tension]),
        "groups": {"obs": data["obs"].astype(int)},
    }


PUBLISHED = {
    "glmm_binomial_cbpp": cbpp,
    "glmm_binomial_cbpp_obs": cbpp_obs,
    "glmm_bernoulli_salamander": salamander,
    "glmm_poisson_epil": epil,
    "glmm_poisson_offset_lot": offset_lot,
    "glmm_poisson_warpbreaks": warpbreaks,
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_estimates_match_the_published_fit(name):
    case = load(name)
    given = PUBLISHED[name](case)
    fit = mixed.fit(**given)
    check(case, "fixef", fit.fixed)
    check(case, "se_hessian", fit.fixed_se)
    check(case, "re_sd", [fit.sd[group] for group in case.expected["re_sd"]])
    case.check("logLik", fit.log_likelihood)
    parameters = fit.fixed.size + len(fit.sd)
    case.check("AIC", -2 * fit.log_likelihood + 2 * parameters)
    assert given["count"].size == case.expected["nobs"]
    assert fit.converged
    assert fit.warnings == ()


@pytest.mark.parametrize(
    "name", ["glmm_binomial_cbpp", "glmm_poisson_offset_lot", "glmm_poisson_warpbreaks"]
)
def test_effects_of_levels_match_the_published_fit(name):
    case = load(name)
    fit = mixed.fit(**PUBLISHED[name](case))
    for key, got in (("blup", fit.effects), ("cond_sd", fit.effects_sd)):
        for group, expected in case.expected[key].items():
            allowed = case.tolerance[key]
            np.testing.assert_allclose(
                got[group],
                list(expected.values()),
                rtol=allowed.get("rel", 0),
                atol=allowed.get("abs", 0),
            )


def test_the_exact_optimum_not_the_early_stop_of_the_printed_fit():
    # Printed with the inner loop stopped at 1e-7: -92.0266; the optimum lies 0.0003 higher.
    case = load("glmm_binomial_cbpp")
    fit = mixed.fit(**cbpp(case))
    assert fit.log_likelihood == pytest.approx(case.expected["logLik"], abs=1e-6)
    np.testing.assert_allclose(fit.fixed, list(case.expected["fixef"].values()), atol=1e-5)
    np.testing.assert_allclose(fit.fixed_se, list(case.expected["se_hessian"].values()), rtol=1e-4)


def test_poisson_regression_without_groups():
    case = load("glm_poisson_warpbreaks")
    given = warpbreaks(case) | {"groups": {}}
    fit = mixed.fit(**given)
    check(case, "coef", fit.fixed)
    check(case, "se", fit.fixed_se)
    case.check("logLik", fit.log_likelihood)
    y, mean = given["count"], np.exp(given["fixed"] @ fit.fixed)
    case.check("deviance", 2 * np.sum(y * np.log(y / mean) - (y - mean)))
    case.check("pearson", np.sum((y - mean) ** 2 / mean))
    assert y.size - fit.fixed.size == case.expected["df"]


def test_a_variance_of_nought_is_the_plain_fit():
    case = load("glmm_singular_boundary")
    rows = case.inputs["rows"]
    column = {name: np.array([row[name] for row in rows]) for name in rows[0]}
    fit = mixed.fit(
        family="binomial",
        count=column["defective"],
        exposure=column["pieces"],
        fixed=np.hstack([ones(column), dummies(column["fabric"], "woven")]),
        groups={"lot": codes(column["lot"])},
    )
    case.check("re_sd", fit.sd["lot"])
    check(case, "fixef", fit.fixed)
    check(case, "glm_se", fit.fixed_se)
    case.check("logLik", fit.log_likelihood)
    assert fit.sd["lot"] == 0
    assert not fit.effects["lot"].any()
    assert fit.converged
    assert any("estimated as 0" in warning for warning in fit.warnings)


def separated_lots(case):
    data = table(case)
    return {
        "family": "binomial",
        "count": data["defective"].astype(int),
        "exposure": data["pieces"].astype(int),
        "fixed": np.hstack([ones(data), dummies(data["backing"], "b_tear", "c_mesh")]),
        "groups": {"lot": codes(data["lot"])},
    }


def test_a_backing_without_a_defect():
    case = load("separation_glmm_small")
    given = separated_lots(case)
    fit = mixed.fit(**given)
    assert fit.separated == (2,)
    assert fit.fixed[2] < -15
    assert any("Column 2" in warning for warning in fit.warnings)
    assert np.isfinite(fit.fixed_se).all()
    case.check("sup_logLik", fit.log_likelihood)
    check(case, "fixef_others", fit.fixed[:2])
    check(case, "se_others", fit.fixed_se[:2])
    case.check("re_sd", fit.sd["lot"])
    without = mixed.fit(**given | {"fixed": given["fixed"][:, :2]})
    statistic = 2 * (fit.log_likelihood - without.log_likelihood)
    case.check("lr_test_chi2", statistic)
    case.check("lr_test_p", chi2.sf(statistic, 1))


@pytest.mark.parametrize("prior_sd", [1.5, 3.0])
def test_a_weak_prior_on_a_backing_without_a_defect(prior_sd):
    """Finite, and at most what the likelihood itself still allows."""
    case = load("separation_glmm_small")
    given = separated_lots(case)
    fit = mixed.fit(**given, fixed_prior_sd=[np.inf, np.inf, prior_sd])
    assert fit.separated == ()
    assert fit.converged
    assert -15 < fit.fixed[2] < case.expected["profile_upper_95_two_sided"] / 2
    assert fit.log_likelihood < case.expected["sup_logLik"]


def test_how_bad_a_backing_without_a_defect_may_still_be():
    """The upper limit of its log odds ratio, by profile likelihood over fits with an offset."""
    case = load("separation_glmm_small")
    given = separated_lots(case)
    best, mesh = mixed.fit(**given).log_likelihood, given["fixed"][:, 2]
    others = given | {"fixed": given["fixed"][:, :2]}

    def excess(log_odds_ratio):
        held = mixed.fit(**others, offset=log_odds_ratio * mesh)
        return 2 * (best - held.log_likelihood) - chi2.isf(0.05, 1)

    case.check("profile_upper_95_two_sided", brentq(excess, -5.0, -1.0, xtol=1e-5))


def endometrial(case):
    data = table(case)
    return {
        "family": "binomial",
        "count": data["HG"].astype(int),
        "exposure": 1,
        "fixed": np.hstack([ones(data), number(data, "NV", "PI", "EH")]),
        "groups": {},
    }


def test_quasi_separation_leaves_the_other_columns_their_estimates():
    case = load("separation_firth_endometrial")
    fit = mixed.fit(**endometrial(case))
    assert any("Column 1" in warning for warning in fit.warnings)
    assert fit.separated == (1,)
    assert case.expected["separated_term"] == "NV"
    assert fit.fixed[1] > 15
    case.check("ml_logLik_supremum", fit.log_likelihood)
    check(case, "ml_coef_others", fit.fixed[[0, 2, 3]])


def test_jeffreys_prior_gives_firths_finite_estimates():
    case = load("separation_firth_endometrial")
    fit = mixed.fit(**endometrial(case), jeffreys_prior=True)
    check(case, "firth_coef", fit.fixed)
    check(case, "firth_se", fit.fixed_se)
    penalty = -0.5 * np.linalg.slogdet(fit.fixed_covariance)[1]
    case.check("firth_penalised_loglik", fit.log_likelihood + penalty)
    assert fit.separated == ()
    assert fit.warnings == ()
    assert fit.converged


def two_suppliers(case):
    rows = case.inputs["rows"]
    second = np.array([row["supplier"] == "S2" for row in rows], dtype=float)
    return {
        "family": "binomial",
        "count": np.array([row["defective"] for row in rows]),
        "exposure": np.array([row["pieces"] for row in rows]),
        "fixed": np.column_stack([np.ones(4), second]),
    }


def test_jeffreys_prior_on_two_groups_adds_half_a_piece_to_each_cell():
    case = load("separation_complete_2x2")
    fit = mixed.fit(**two_suppliers(case), groups={}, jeffreys_prior=True)
    case.check("haldane_log_or", -fit.fixed[1])


def test_complete_separation_and_what_can_still_be_said():
    case = load("separation_complete_2x2")
    given = two_suppliers(case)
    count, pieces = given["count"], given["exposure"]
    fit = mixed.fit(**given, groups={"lot": np.arange(4) % 2})
    assert any("separation" in warning for warning in fit.warnings)
    assert bool(fit.separated) is case.expected["separated"]
    case.check("sup_logLik", fit.log_likelihood)
    assert np.isfinite(fit.fixed).all()
    assert fit.fixed[0] > 15
    assert fit.fixed.sum() < -15
    a, n1, c, n0 = count[:2].sum(), pieces[:2].sum(), count[2:].sum(), pieces[2:].sum()
    between = intervals.proportion_difference(count_a=a, trials_a=n1, count_b=c, trials_b=n0)
    case.check("newcombe_diff", [between.lower, between.upper])
    for supplier, x, n in (("S1", a, n1), ("S2", c, n0)):
        wilson = intervals.proportion(count=x, trials=n)
        case.check(f"wilson_{supplier}", [wilson.lower, wilson.upper])
    exact = intervals.proportion(count=c, trials=n0, method="exact")
    case.check("clopper_pearson_S2_upper", exact.upper)


VERDICTS_MISS = {"glmm_binomial_cbpp_obs", "glmm_bernoulli_salamander"}


@pytest.mark.parametrize("name", PUBLISHED)
def test_how_near_the_objective_of_verdicts_comes_with_its_priors_opened(name):
    """Restricted quasi-likelihood, as verdicts rest on it, is not what was published.

    With flat priors and no other variance it comes as near as maximum likelihood is held to, but
    for the two records of single pieces or of a level for each few of them: there it shrinks
    coefficients and spreads (Breslow & Lin 1995, Biometrika 82:81-91), the salamanders' by 22 %.
    """
    case = load(name)
    fit = opened(RESTRICTED, **PUBLISHED[name](case))
    expected, errors = (
        np.array(list(case.expected[key].values())) for key in ("fixef", "se_hessian")
    )
    size = expected.size
    assert fit.converged
    off = np.abs(fit.coefficients[:size] - expected) / errors
    sd = np.array([fit.sd(group) for group in case.expected["re_sd"]])
    published = np.array(list(case.expected["re_sd"].values()))
    if name in VERDICTS_MISS:
        assert 0.25 < off.max() < 1.2
        assert (np.abs(fit.coefficients[:size]) < np.abs(expected)).all()
        return
    assert (off < 0.25).all()
    np.testing.assert_allclose(np.sqrt(np.diag(fit.covariance)[:size]), errors, rtol=0.15)
    assert (np.abs(sd - published) < np.maximum(0.03, 0.15 * published)).all()


def opened(objective, *, family, count, exposure, fixed, groups):
    """The published model by the engine itself, all columns with next to no prior."""
    trials = np.broadcast_to(exposure, count.shape).astype(float)
    columns = {f"column {index}": column for index, column in enumerate(fixed.T)}
    setups = Setups(
        trials=trials,
        squares=trials**2,
        count=count.astype(float),
        runs=np.ones(count.size),
        factors=groups,
        slopes=columns,
        measure="pieces" if family == "binomial" else "events",
    )
    terms = [Term(name, slope=name, sd=1e3) for name in columns]
    terms += [Term(name, (name,)) for name in groups]
    plain = replace(objective, spread_prior=np.inf, overdispersed=False, largest_sd=20.0)
    return engine.fit(setups=setups, terms=terms, objective=plain)


def test_rates_over_new_herds():
    """The engine's step to new levels averages the odds of those seen, which are shrunken.

    It comes to 0.94 of the published average over all herds in the worst period (rates of 5 to
    22 %, herds that differ by 0.64): rates of new lots are a little too low where lots differ
    much and defects are common. Differences between suppliers share the factor.
    """
    case = load("standardisation_glmm_cbpp")
    data = table(case)
    trials = data["size"].astype(float)
    setups = Setups(
        trials=trials,
        squares=trials**2,
        count=data["incidence"].astype(float),
        runs=np.ones(trials.size),
        factors={"period": data["period"].astype(int) - 1, "herd": data["herd"].astype(int) - 1},
    )
    terms = (
        Term("level", sd=100.0),
        Term("period", ("period",), sd=100.0),
        Term("herd", ("herd",)),
    )
    fit = engine.fit(setups=setups, terms=terms, objective=LAPLACE)
    everyone = np.ones(trials.size, dtype=bool)

    def rates(**renewed):
        return [
            engine.standardised(fit=fit, population=everyone, to={"period": code}, **renewed).rate
            for code in range(4)
        ]

    effects = fit.coefficients[fit.layout.place("herd")]
    middle = replace(
        fit,
        coefficients=np.where(
            np.isin(np.arange(fit.layout.size), np.arange(*fit.layout.place("herd").indices(99))),
            0.0,
            fit.coefficients,
        ),
    )
    assert effects.size == 15
    at_the_middle = [
        engine.standardised(fit=middle, population=everyone, to={"period": code}).rate
        for code in range(4)
    ]
    check(case, "risk_at_random_effect_zero", at_the_middle)
    over_herds = np.array(list(case.expected["marginal_risk"].values()))
    share = np.array(rates(renewed="herd")) / over_herds
    assert ((share > 0.85) & (share < 0.95)).all(), share


def test_every_case_of_these_topics_is_used():
    topics = {"binomial_glmm", "poisson_glmm", "poisson_glm", "separation"}
    there = {
        path.stem
        for path in DATA.glob("*.json")
        if json.loads(path.read_text(encoding="utf-8"))["topic"] in topics
    }
    assert there == PUBLISHED.keys() | {
        "glm_poisson_warpbreaks",
        "glmm_singular_boundary",
        "separation_complete_2x2",
        "separation_firth_endometrial",
        "separation_glmm_small",
    }
