"""What either treatment would do to the same patients: marginal standardisation.

Charig et al. (1986), BMJ 292:879-882; Julious & Mullee (1994), BMJ 309:1480 (kidney stones, small
and large). Failures; B minus, or over, A. The crude rates point the other way.
"""

import numpy as np
import pytest
from cases import load

from logbook.kernels import mixed


def table(case):
    rows = case.inputs["rows"]
    treated = np.array([row["treatment"] == "B" for row in rows], dtype=float)
    small = np.array([row["size"] == "small" for row in rows], dtype=float)
    patients, failures = (np.array([row[name] for row in rows]) for name in ("n", "failures"))
    return treated, small, patients, failures


def design(treated, small, saturated):
    columns = [np.ones(small.size), np.broadcast_to(treated, small.shape), small]
    return np.column_stack([*columns, columns[1] * small] if saturated else columns)


def fitted(case, saturated):
    treated, small, patients, failures = table(case)
    fixed = design(treated, small, saturated)
    return mixed.fit(
        family="binomial", count=failures, exposure=patients, fixed=fixed, groups={}
    ), np.array([design(to, small, saturated) for to in (0.0, 1.0)])


def check(case, which, key, got):
    expected = case.expected[which][key]
    values = list(expected.values()) if isinstance(expected, dict) else expected
    allowed = case.tolerance["default"]
    np.testing.assert_allclose(
        got, values, rtol=allowed["rel"], atol=allowed["abs"], err_msg=f"{which}: {key}"
    )


@pytest.mark.parametrize("which", ["saturated", "logistic_main_effects"])
def test_rates_difference_and_ratio(which):
    case = load("standardisation_kidney_stones")
    fit, designs = fitted(case, which == "saturated")
    rates = mixed.standardised_rates(
        family="binomial",
        fixed=fit.fixed,
        fixed_covariance=fit.fixed_covariance,
        designs=designs,
        weight=table(case)[2],
    )
    check(case, which, "risk", rates.rate)
    check(case, which, "risk_se", rates.se)
    a, b = rates.rate
    check(case, which, "rd", b - a)
    check(case, which, "rd_se", np.sqrt([-1, 1] @ rates.covariance @ [-1, 1]))
    check(case, which, "rr", b / a)
    by_rate = np.array([-1 / a, 1 / b])
    check(case, which, "log_rr_se", np.sqrt(by_rate @ rates.covariance @ by_rate))


def test_the_regression_behind_them():
    case = load("standardisation_kidney_stones")
    fit, _ = fitted(case, saturated=False)
    check(case, "logistic_main_effects", "coef", fit.fixed)
    check(case, "logistic_main_effects", "coef_se", fit.fixed_se)
    full, _ = fitted(case, saturated=True)
    deviance = 2 * (full.log_likelihood - fit.log_likelihood)
    check(case, "logistic_main_effects", "deviance", deviance)
    assert len(case.inputs["rows"]) - fit.fixed.size == case.expected["logistic_main_effects"]["df"]


def test_like_for_like_turns_the_crude_order_round():
    case = load("standardisation_kidney_stones")
    treated, _, patients, failures = table(case)
    crude = [failures[treated == to].sum() / patients[treated == to].sum() for to in (0, 1)]
    assert crude[1] < crude[0]
    fit, designs = fitted(case, saturated=True)
    rates = mixed.standardised_rates(
        family="binomial",
        fixed=fit.fixed,
        fixed_covariance=fit.fixed_covariance,
        designs=designs,
        weight=patients,
    )
    assert rates.rate[1] > rates.rate[0]
