"""Two groups compared like for like over strata: Mantel-Haenszel, the plain check.

Group a is set against group b: differences are a minus b, ratios a over b. A stratum is a set
of runs alike in everything but the group, for instance one fabric sewn on one kind of backing.
Zero cells need no half added; a stratum in which a figure has nothing to compare drops out of
that figure. What cannot be said is NaN.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc

from logbook.kernels import mantel_haenszel as formulas
from logbook.kernels.arguments import (
    FloatArray,
    Numbers,
    count_and_exposure,
    line_of_points,
    same_shape,
    two_sided_quantile,
)


@dataclass(frozen=True, slots=True)
class RiskComparison:
    """Odds ratio, risk ratio and risk difference common to all strata, a against b.

    Attributes
    ----------
    odds_ratio, risk_ratio, risk_difference
        Mantel-Haenszel estimates. A ratio is 0 or infinite where one group alone had events.
    odds_ratio_lower, odds_ratio_upper, odds_ratio_log_se
        Robins-Breslow-Greenland bounds; NaN where the ratio is not positive and finite.
    risk_ratio_lower, risk_ratio_upper, risk_ratio_log_se
        Greenland-Robins bounds; NaN as above, or where every trial was an event.
    risk_difference_lower, risk_difference_upper, risk_difference_se
        Greenland-Robins bounds; NaN where the formula gives no width at all (no events in
        either group, for instance), which would claim a certainty that data cannot give.
    cmh_chi2, cmh_p
        Cochran-Mantel-Haenszel test of no difference, 1 degree, no continuity correction.
    homogeneity_chi2, homogeneity_degrees, homogeneity_p
        Breslow-Day test with Tarone's correction that one odds ratio fits every stratum; NaN
        with fewer than two informative strata.
    strata_used
        Strata with trials in both groups: those in the risk difference.
    strata_informative
        Strata of these that saw both outcomes: those in the odds ratio and both tests.
    level
        Confidence level of the bounds.
    """

    odds_ratio: float
    odds_ratio_lower: float
    odds_ratio_upper: float
    odds_ratio_log_se: float
    risk_ratio: float
    risk_ratio_lower: float
    risk_ratio_upper: float
    risk_ratio_log_se: float
    risk_difference: float
    risk_difference_lower: float
    risk_difference_upper: float
    risk_difference_se: float
    cmh_chi2: float
    cmh_p: float
    homogeneity_chi2: float
    homogeneity_degrees: int
    homogeneity_p: float
    strata_used: int
    strata_informative: int
    level: float


@dataclass(frozen=True, slots=True)
class RateComparison:
    """Rate ratio and rate difference common to all strata, a against b.

    Attributes
    ----------
    rate_ratio, rate_ratio_lower, rate_ratio_upper, rate_ratio_log_se
        Mantel-Haenszel rate ratio with Greenland-Robins bounds. The ratio is 0 or infinite
        where one group alone had events; then its bounds are NaN.
    rate_difference, rate_difference_lower, rate_difference_upper, rate_difference_se
        Mantel-Haenszel rate difference, events per unit of exposure; bounds NaN where there
        were no events at all.
    chi2, p_value
        Mantel-Haenszel test of no difference, 1 degree, no continuity correction.
    homogeneity_chi2, homogeneity_degrees, homogeneity_p
        Test that one rate ratio fits every stratum; NaN with fewer than two strata that had
        events.
    strata_used
        Strata with exposure in both groups.
    strata_informative
        Strata of these that had events.
    level
        Confidence level of the bounds.
    """

    rate_ratio: float
    rate_ratio_lower: float
    rate_ratio_upper: float
    rate_ratio_log_se: float
    rate_difference: float
    rate_difference_lower: float
    rate_difference_upper: float
    rate_difference_se: float
    chi2: float
    p_value: float
    homogeneity_chi2: float
    homogeneity_degrees: int
    homogeneity_p: float
    strata_used: int
    strata_informative: int
    level: float


def risk(
    *,
    count_a: Numbers,
    trials_a: Numbers,
    count_b: Numbers,
    trials_b: Numbers,
    level: float = 0.95,
) -> RiskComparison:
    """Compare two groups' proportions over strata, for instance defective pieces of suppliers.

    Parameters
    ----------
    count_a, trials_a, count_b, trials_b
        (K,) events and trials by stratum; single numbers are one stratum.
    level
        Two-sided confidence level.

    Returns
    -------
    RiskComparison
        Ratios, difference (as a fraction), tests.

    Raises
    ------
    KernelError
        If a count is negative, not finite or above its trials, or the lengths differ.

    Notes
    -----
    Mantel & Haenszel (1959), JNCI 22:719-748. Variance of the log odds ratio: Robins, Breslow
    & Greenland (1986), Biometrics 42:311-323. Risk ratio and difference: Greenland & Robins
    (1985), Biometrics 41:55-68 (their variance of the difference, not that of Sato 1989).
    Homogeneity: Breslow & Day (1980), Statistical Methods in Cancer Research I, eq. 4.30,
    corrected by Tarone (1985), Biometrika 72:91-95.
    """
    z = two_sided_quantile(level)
    x1, n1 = count_and_exposure(count_a, trials_a, names=("count_a", "trials_a"), bounded=True)
    x0, n0 = count_and_exposure(count_b, trials_b, names=("count_b", "trials_b"), bounded=True)
    x1, n1, x0, n0 = _comparable(x1, n1, x0, n0)
    informative = (x1 + x0 > 0) & (x1 + x0 < n1 + n0)
    table = x1[informative], n1[informative], x0[informative], n0[informative]
    odds = formulas.odds_ratio(*table, z=z)
    cmh_chi2 = formulas.cochran(*table)
    homogeneity = formulas.tarone(*table, ratio=odds.estimate)
    return RiskComparison(
        *odds,
        *formulas.risk_ratio(x1, n1, x0, n0, z=z),
        *formulas.risk_difference(x1, n1, x0, n0, z=z),
        cmh_chi2,
        _tail(1, cmh_chi2),
        *homogeneity,
        _tail(homogeneity.degrees, homogeneity.chi2),
        strata_used=int(x1.size),
        strata_informative=int(informative.sum()),
        level=level,
    )


def rate(
    *,
    count_a: Numbers,
    exposure_a: Numbers,
    count_b: Numbers,
    exposure_b: Numbers,
    level: float = 0.95,
) -> RateComparison:
    """Compare two groups' event rates over strata, for instance thread breaks per stitch.

    Parameters
    ----------
    count_a, exposure_a, count_b, exposure_b
        (K,) events and exposure (stitches, hours) by stratum; single numbers are one stratum.
    level
        Two-sided confidence level.

    Returns
    -------
    RateComparison
        Ratio, difference (per unit of exposure), tests.

    Raises
    ------
    KernelError
        If a value is negative or not finite, events were counted over no exposure, or the
        lengths differ.

    Notes
    -----
    Rothman, Greenland & Lash (2008), Modern Epidemiology 3rd ed., ch. 15; variances by
    Greenland & Robins (1985), Biometrics 41:55-68. Homogeneity: the chi-square of Breslow &
    Day (1987), Statistical Methods in Cancer Research II, sec. 3.5, at the Mantel-Haenszel
    ratio, less a term for that ratio not being the maximum likelihood one (after Tarone 1985).
    """
    z = two_sided_quantile(level)
    names_a, names_b = ("count_a", "exposure_a"), ("count_b", "exposure_b")
    x1, t1 = count_and_exposure(count_a, exposure_a, names=names_a, bounded=False)
    x0, t0 = count_and_exposure(count_b, exposure_b, names=names_b, bounded=False)
    x1, t1, x0, t0 = _comparable(x1, t1, x0, t0)
    ratio = formulas.rate_ratio(x1, t1, x0, t0, z=z)
    chi2 = formulas.mantel_haenszel_rates(x1, t1, x0, t0)
    homogeneity = formulas.rate_homogeneity(x1, t1, x0, t0, ratio=ratio.estimate)
    return RateComparison(
        *ratio,
        *formulas.rate_difference(x1, t1, x0, t0, z=z),
        chi2,
        _tail(1, chi2),
        *homogeneity,
        _tail(homogeneity.degrees, homogeneity.chi2),
        strata_used=int(x1.size),
        strata_informative=int(np.sum(x1 + x0 > 0)),
        level=level,
    )


def _comparable(
    x1: FloatArray, n1: FloatArray, x0: FloatArray, n0: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return the strata in which both groups were seen, as lines of equal length."""
    named = same_shape({"count_a": x1, "exposure_a": n1, "count_b": x0, "exposure_b": n0})
    a, b, c, d = (line_of_points(array, "Each argument") for array in named)
    both = (b > 0) & (d > 0)
    return a[both], b[both], c[both], d[both]


def _tail(degrees: int, chi2: float) -> float:
    return np.nan if np.isnan(chi2) else float(chdtrc(degrees, chi2))
