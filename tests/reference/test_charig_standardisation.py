"""What either treatment would do to the same patients: marginal standardisation.

Charig et al. (1986), BMJ 292:879-882; Julious & Mullee (1994), BMJ 309:1480 (kidney stones, small
and large). Failures; B minus, or over, A. The crude rates point the other way. Through the engine
that prints verdicts, with priors too wide to matter.
"""

import numpy as np
import pytest
from cases import load

from logbook.kernels.setup_model import Setups, Term, compare, fit
from logbook.kernels.setup_model.effects import AskedEffect, effect
from logbook.kernels.setup_model.objective import LAPLACE

A, B = 0, 1
WIDE = 1e3
MAIN = (
    Term("level", sd=WIDE),
    Term("treatment", ("treatment",), sd=WIDE),
    Term("size", ("size",), sd=WIDE),
)
TERMS = {
    "saturated": (*MAIN, Term("both", ("treatment", "size"), sd=WIDE)),
    "logistic_main_effects": MAIN,
}


def setups(case):
    rows = case.inputs["rows"]
    patients = np.array([row["n"] for row in rows], dtype=float)
    return Setups(
        trials=patients,
        squares=patients**2,
        count=np.array([row["failures"] for row in rows], dtype=float),
        runs=np.full(patients.size, 10.0),
        factors={
            "treatment": np.array([row["treatment"] == "B" for row in rows], dtype=np.intp),
            "size": np.array([row["size"] == "small" for row in rows], dtype=np.intp),
        },
    )


def fitted(case, which):
    return fit(setups=setups(case), terms=TERMS[which], objective=LAPLACE)


def check(case, which, key, got):
    expected = case.expected[which][key]
    values = list(expected.values()) if isinstance(expected, dict) else expected
    allowed = case.tolerance["default"]
    np.testing.assert_allclose(
        got, values, rtol=allowed["rel"], atol=allowed["abs"], err_msg=f"{which}: {key}"
    )


@pytest.mark.parametrize("which", TERMS)
def test_rates_difference_and_ratio(which):
    """The comparison of suppliers gives risks and their difference, that of factors the ratio."""
    case = load("standardisation_kidney_stones")
    found = fitted(case, which)
    everyone = np.ones(4, dtype=bool)
    against = compare(fit=found, factor="treatment", level=B, reference=A, shared=everyone)
    check(case, which, "risk", [against.reference_rate.estimate, against.rate.estimate])
    check(case, which, "rd", against.difference.estimate)
    check(case, which, "rd_se", np.sqrt(against.variance))
    check(case, which, "rr", against.ratio)
    everything = np.zeros(4, dtype=np.intp)
    ratio = effect(fit=found, asked=AskedEffect("treatment", B, everything)).ratio
    reach = np.log(ratio.upper / ratio.lower) / 2.0
    check(case, which, "log_rr_se", reach / 1.959964)


def test_the_regression_behind_them():
    case = load("standardisation_kidney_stones")
    found = fitted(case, "logistic_main_effects")
    size, treatment = found.layout.place("size"), found.layout.place("treatment")
    contrasts = np.zeros((3, found.layout.size))
    contrasts[0, [0, treatment.start + A, size.start]] = 1.0
    contrasts[1, [treatment.start + B, treatment.start + A]] = 1.0, -1.0
    contrasts[2, [size.start + 1, size.start]] = 1.0, -1.0
    check(case, "logistic_main_effects", "coef", contrasts @ found.coefficients)
    errors = np.sqrt(np.diag(contrasts @ found.covariance.dense() @ contrasts.T))
    check(case, "logistic_main_effects", "coef_se", errors)
    full = fitted(case, "saturated")
    deviance = 2 * (full.maximum.point.log_likelihood - found.maximum.point.log_likelihood)
    check(case, "logistic_main_effects", "deviance", deviance)
    assert case.expected["logistic_main_effects"]["df"] == 4 - len(contrasts)


def test_like_for_like_turns_the_crude_order_round():
    case = load("standardisation_kidney_stones")
    record = setups(case)
    treated = record.factors["treatment"]
    crude = [
        record.count[treated == to].sum() / record.trials[treated == to].sum() for to in (A, B)
    ]
    assert crude[B] < crude[A]
    everyone = np.ones(4, dtype=bool)
    against = compare(
        fit=fitted(case, "saturated"), factor="treatment", level=B, reference=A, shared=everyone
    )
    assert against.difference.estimate > 0
