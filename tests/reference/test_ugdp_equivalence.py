"""Equivalence within 10 points either way.

Totals of the University Group Diabetes Program: Rothman, Greenland & Lash (2008), Modern
Epidemiology 3rd ed., Table 15-1. Two one-sided tests at 5 % are the 90 % interval inside both
margins (Schuirmann 1987, J Pharmacokin Biopharm 15:657-680).
"""

import numpy as np
from cases import load
from margins import score_interval
from scipy.optimize import brentq
from scipy.stats import norm


def uninflated_level(case, level):
    """The level at which our interval is the one without N / (N - 1) at ``level``."""
    trials = case.inputs["n1"] + case.inputs["n2"]
    return 2 * norm.cdf(norm.isf((1 - level) / 2) * np.sqrt((trials - 1) / trials)) - 1


def test_ninety_percent_score_interval():
    case = load("equiv_ugdp_totals")
    fit = score_interval(case, uninflated_level(case, 0.9))
    case.check("diff", fit.difference)
    case.check("ci90_fm", [fit.lower, fit.upper])
    margin = case.inputs["margin"]
    inside = -margin < fit.lower and fit.upper < margin
    assert inside is case.expected["equivalent_at_5pct"]


def test_both_one_sided_tests():
    case = load("equiv_ugdp_totals")
    margin = case.inputs["margin"]

    def p_where(excess):
        # Far from the margin and close to it: the interval grows with its level.
        return float(brentq(excess, 1e-7, 0.49, xtol=1e-14))

    def at(p):
        return score_interval(case, uninflated_level(case, 1 - 2 * p))

    lower = p_where(lambda p: at(p).lower + margin)
    upper = p_where(lambda p: at(p).upper - margin)
    case.check("p_lower", lower)
    case.check("z_lower", norm.isf(lower))
    case.check("p_upper", upper)
    case.check("z_upper", norm.ppf(upper))
    case.check("p_tost", max(lower, upper))
