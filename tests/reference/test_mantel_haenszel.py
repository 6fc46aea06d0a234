"""Two groups over strata.

Rothman, Greenland & Lash (2008), Modern Epidemiology 3rd ed., Tables 15-1 and 15-2; Doll & Hill
(1950) in Fagerland, Lydersen & Laake (2017) ch. 10; Charig et al. (1986), BMJ 292:879; Colditz
et al. (1994), JAMA 271:698; Mantel (1963); two tables from package documentation. Tolerance 1e-5
relative: closed formulas, the expected values printed to at least six digits.
"""

import warnings

import numpy as np
import pytest
from cases import load

from logbook.kernels import strata

with warnings.catch_warnings():
    # statsmodels builds docstrings and touches pandas options on import; not our business.
    warnings.simplefilter("ignore")
    import statsmodels.api as sm
    from statsmodels.stats.contingency_tables import StratifiedTable

BINARY = (
    "mh_bcg_13_trials",
    "mh_doll_hill_1950",
    "mh_kidney_stones",
    "mh_small_strata_5",
    "mh_ugdp_tolbutamide",
)


def column(case, name):
    return np.array([stratum[name] for stratum in case.inputs["strata"]])


def counts(case):
    return {
        "count_a": column(case, "events_1"),
        "trials_a": column(case, "events_1") + column(case, "nonevents_1"),
        "count_b": column(case, "events_2"),
        "trials_b": column(case, "events_2") + column(case, "nonevents_2"),
    }


@pytest.mark.parametrize("name", BINARY)
def test_ratios_difference_and_tests(name):
    case = load(name)
    fit = strata.risk(**counts(case), level=case.inputs["conf_level"])
    case.check("or_mh", fit.odds_ratio)
    case.check("or_ci_rbg", [fit.odds_ratio_lower, fit.odds_ratio_upper])
    case.check("se_log_or_rbg", fit.odds_ratio_log_se)
    case.check("rr_mh", fit.risk_ratio)
    case.check("rr_ci_gr", [fit.risk_ratio_lower, fit.risk_ratio_upper])
    case.check("se_log_rr_gr", fit.risk_ratio_log_se)
    case.check("rd_mh", fit.risk_difference)
    case.check("rd_ci_gr", [fit.risk_difference_lower, fit.risk_difference_upper])
    case.check("rd_se_greenland_robins", fit.risk_difference_se)
    case.check("cmh_chi2_no_cc", fit.cmh_chi2)
    case.check("cmh_p_no_cc", fit.cmh_p)
    case.check("tarone_chi2", fit.homogeneity_chi2)
    case.check("tarone_p", fit.homogeneity_p)
    assert fit.homogeneity_degrees == case.expected["df"]


def test_zero_cells_need_no_correction_and_empty_margins_drop_out():
    case = load("mh_penicillin_rabbits")
    fit = strata.risk(**counts(case))
    case.check("or_mh", fit.odds_ratio)
    case.check("or_ci_rbg", [fit.odds_ratio_lower, fit.odds_ratio_upper])
    case.check("cmh_chi2_no_cc", fit.cmh_chi2)
    case.check("cmh_p_no_cc", fit.cmh_p)
    assert (fit.strata_used, fit.strata_informative) == (5, 3)


def test_large_trials_in_narrow_integers_do_not_overflow():
    case = load("mh_bcg_13_trials")
    narrow = {name: values.astype(np.int32) for name, values in counts(case).items()}
    case.check("cmh_chi2_no_cc", strata.risk(**narrow).cmh_chi2)


@pytest.mark.parametrize("name", BINARY)
def test_binary_agrees_with_a_second_witness(name):
    data = counts(load(name))
    a, n1, c, n0 = (np.asarray(values, dtype=float) for values in data.values())
    witness = StratifiedTable(np.array([[a, n1 - a], [c, n0 - c]]))
    fit = strata.risk(**data)
    assert fit.odds_ratio == pytest.approx(witness.oddsratio_pooled, rel=1e-12)
    assert fit.odds_ratio_log_se == pytest.approx(witness.logodds_pooled_se, rel=1e-12)
    assert fit.risk_ratio == pytest.approx(witness.riskratio_pooled, rel=1e-12)
    expected = witness.test_null_odds(correction=False)
    assert fit.cmh_chi2 == pytest.approx(expected.statistic, rel=1e-9)
    expected = witness.test_equal_odds(adjust=True)
    assert fit.homogeneity_chi2 == pytest.approx(expected.statistic, rel=1e-9)


def rates(case):
    return {
        "count_a": column(case, "events_1"),
        "exposure_a": column(case, "exposure_1"),
        "count_b": column(case, "events_2"),
        "exposure_b": column(case, "exposure_2"),
    }


def test_rates_of_the_british_doctors():
    case = load("mh_rate_british_doctors")
    fit = strata.rate(**rates(case), level=case.inputs["conf_level"])
    case.check("irr", fit.rate_ratio)
    case.check("se_log", fit.rate_ratio_log_se)
    case.check("ci", [fit.rate_ratio_lower, fit.rate_ratio_upper])
    case.check("ird", fit.rate_difference)
    case.check("ird_se", fit.rate_difference_se)
    case.check("ird_ci", [fit.rate_difference_lower, fit.rate_difference_upper])
    case.check("chi2", fit.chi2)
    case.check("p", fit.p_value)


def test_rate_homogeneity_agrees_with_a_second_witness():
    """Pearson chi-square of a Poisson regression with one ratio for all strata.

    The two differ only through the ratio (Mantel-Haenszel here, maximum likelihood there) and
    its correction term: 1 % of the statistic.
    """
    data = rates(load("mh_rate_british_doctors"))
    events = np.concatenate([data["count_a"], data["count_b"]])
    exposure = np.concatenate([data["exposure_a"], data["exposure_b"]])
    strata_columns = np.tile(np.eye(5), (2, 1))
    design = np.column_stack([strata_columns, np.repeat([1.0, 0.0], 5)])
    family = sm.families.Poisson()
    witness = sm.GLM(events, design, family=family, offset=np.log(exposure)).fit()
    fit = strata.rate(**data)
    assert fit.homogeneity_chi2 == pytest.approx(witness.pearson_chi2, rel=0.01)
    assert fit.homogeneity_degrees == witness.df_resid
