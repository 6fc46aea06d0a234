"""Intervals for one proportion, one rate and a difference of two proportions.

Newcombe (1998) Stat Med 17:857-872 Table I and 17:873-890 Table II; NIST/SEMATECH e-Handbook
7.2.4; Garwood (1936) Biometrika 28:437-442; R documentation of poisson.test; Gart & Nam (1990);
Perondi et al. (2004). Tolerances are those of the cases: 2e-6 for proportions (as many digits as
the recomputation shares between programs), 2e-5 for differences (score limits found by search).
"""

import pytest
from cases import load
from scipy.stats import binomtest

from logbook.kernels import intervals

PROPORTIONS = ("prop_newcombe_81_263", "prop_newcombe_1_29", "prop_newcombe_0_20")
METHODS = {"wilson": "wilson", "exact": "clopper_pearson", "jeffreys": "jeffreys"}
DIFFERENCES = (
    "diff_newcombe_a",
    "diff_newcombe_b",
    "diff_newcombe_d",
    "diff_newcombe_e",
    "diff_gart_nam",
    "diff_perondi",
)


@pytest.mark.parametrize("name", [*PROPORTIONS, "prop_nist_4_20_90"])
@pytest.mark.parametrize("method", METHODS)
def test_proportion_matches_the_table(name, method):
    case = load(name)
    level = case.inputs["conf_level"]
    x, n = case.inputs["x"], case.inputs["n"]
    fit = intervals.proportion(count=x, trials=n, level=level, method=method)
    case.check("estimate", fit.estimate)
    case.check(METHODS[method], [fit.lower, fit.upper])


@pytest.mark.parametrize(("method", "witness"), [("wilson", "wilson"), ("exact", "exact")])
@pytest.mark.parametrize(("count", "trials"), [(0, 1), (3, 7), (250, 251), (17, 120000)])
def test_proportion_agrees_with_a_second_witness(method, witness, count, trials):
    """scipy's binomtest; 1e-7 because its exact limits come from a root search."""
    fit = intervals.proportion(count=count, trials=trials, level=0.9, method=method)
    expected = binomtest(count, trials).proportion_ci(confidence_level=0.9, method=witness)
    assert (fit.lower, fit.upper) == pytest.approx((expected.low, expected.high), rel=1e-7)


@pytest.mark.parametrize("name", ["rate_15_400", "rate_byar_137", "rate_garwood_10"])
def test_rate_matches_garwood(name):
    case = load(name)
    fit = intervals.rate(
        count=case.inputs["events"],
        exposure=case.inputs["exposure"],
        level=case.inputs["conf_level"],
    )
    case.check("estimate", fit.estimate)
    case.check("exact", [fit.lower, fit.upper])


@pytest.mark.parametrize("name", DIFFERENCES)
@pytest.mark.parametrize("method", ["newcombe", "miettinen_nurminen"])
def test_difference_matches_the_table(name, method):
    case = load(name)
    fit = intervals.proportion_difference(
        count_a=case.inputs["x1"],
        trials_a=case.inputs["n1"],
        count_b=case.inputs["x2"],
        trials_b=case.inputs["n2"],
        level=case.inputs["conf_level"],
        method=method,
    )
    case.check("diff", fit.difference)
    case.check(method, [fit.lower, fit.upper])
