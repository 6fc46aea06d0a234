"""Two event rates compared: 11 events over 800 against 21 over 3011.

R documentation of ``poisson.test``. Given the total, the events of one group are binomial
(Przyborowski & Wilenski 1940, Biometrika 31:313-323), so that an interval for that proportion is
one for the ratio.
"""

import numpy as np
import pytest
from cases import load
from scipy.stats import norm

from logbook.kernels import intervals, mixed, strata


def groups(case):
    (a, b), (over_a, over_b) = case.inputs["events"], case.inputs["exposure"]
    return {"count_a": a, "exposure_a": over_a, "count_b": b, "exposure_b": over_b}


def test_one_stratum_is_the_plain_comparison():
    case = load("rr_doc_11_21")
    fit = strata.rate(**groups(case), level=case.inputs["conf_level"])
    case.check("ratio", fit.rate_ratio)
    case.check("diff", fit.rate_difference)
    case.check("wald_log_ci", [fit.rate_ratio_lower, fit.rate_ratio_upper])
    case.check("score_z", np.sqrt(fit.chi2))
    case.check("score_p_two_sided", fit.p_value)


@pytest.mark.parametrize(
    ("method", "key"), [("exact", "exact_conditional_ci"), ("wilson", "score_ratio_ci")]
)
def test_interval_of_the_ratio_from_that_of_the_share(method, key):
    case = load("rr_doc_11_21")
    (a, b), (over_a, over_b) = case.inputs["events"], case.inputs["exposure"]
    share = intervals.proportion(
        count=a, trials=a + b, level=case.inputs["conf_level"], method=method
    )
    limits = np.array([share.lower, share.upper])
    case.check(key, limits / (1 - limits) * over_b / over_a)


def test_poisson_regression_on_two_rows():
    case = load("rr_doc_11_21")
    fit = mixed.fit(
        family="poisson",
        count=case.inputs["events"],
        exposure=case.inputs["exposure"],
        fixed=[[1, 1], [1, 0]],
        groups={},
    )
    case.check("ratio", np.exp(fit.fixed[1]))
    reach = norm.isf((1 - case.inputs["conf_level"]) / 2) * fit.fixed_se[1]
    case.check("wald_log_ci", np.exp([fit.fixed[1] - reach, fit.fixed[1] + reach]))
