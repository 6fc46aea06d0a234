"""Score tests against a margin, read off the score interval that leads to the same verdict.

The interval at level 1 - 2p has its upper limit on the margin exactly where the one-sided p-value
of "no worse by the margin" is p. Miettinen & Nurminen multiply the variance by N / (N - 1),
Farrington & Manning do not.
"""

from __future__ import annotations

import numpy as np
from cases import Case
from scipy.optimize import brentq
from scipy.stats import binom, norm

from logbook.kernels import intervals


def score_interval(case: Case, level: float) -> intervals.DifferenceInterval[float]:
    """Return the Miettinen-Nurminen interval of the case's two groups."""
    given = case.inputs
    return intervals.proportion_difference(
        count_a=given["x1"],
        trials_a=given["n1"],
        count_b=given["x2"],
        trials_b=given["n2"],
        level=level,
        method="miettinen_nurminen",
    )


def p_no_worse(case: Case) -> float:
    """Return the one-sided p-value at which the upper limit comes to lie on the margin."""
    margin = case.inputs["margin"]
    return float(
        brentq(lambda p: score_interval(case, 1 - 2 * p).upper - margin, 1e-6, 0.499, xtol=1e-13)
    )


def check_no_worse(case: Case) -> None:
    """Compare both statistics, both p-values and the verdicts with the case."""
    trials = case.inputs["n1"] + case.inputs["n2"]
    p = p_no_worse(case)
    uninflated = norm.ppf(p) * np.sqrt(trials / (trials - 1))
    case.check("diff", score_interval(case, 0.95).difference)
    case.check("mn_p_one_sided", p)
    case.check("mn_z", norm.ppf(p))
    case.check("fm_z", uninflated)
    case.check("fm_p_one_sided", norm.cdf(uninflated))
    assert score_interval(case, 1 - 2.02 * p).upper < case.inputs["margin"]
    assert score_interval(case, 1 - 1.98 * p).upper > case.inputs["margin"]


def exact_p_no_worse(case: Case) -> float:
    """Return the largest chance, over all true rates on the margin, of data as convincing.

    Chan (1998), Stat Med 17:1403-1413: tables in the order of the score statistic.
    """
    n1, n2, margin = (case.inputs[name] for name in ("n1", "n2", "margin"))
    x1, x2 = (table.ravel() for table in np.mgrid[: n1 + 1, : n2 + 1])
    found = intervals.proportion_difference(
        count_a=x1,
        trials_a=n1,
        count_b=x2,
        trials_b=n2,
        level=1 - 2 * p_no_worse(case),
        method="miettinen_nurminen",
    )
    convincing = found.upper <= margin + 1e-9
    rates = np.linspace(0, 1 - margin, 2001)[:, np.newaxis]
    first, second = x1[convincing], x2[convincing]
    chances = [
        (binom.pmf(first, n1, rate + margin) * binom.pmf(second, n2, rate)).sum() for rate in rates
    ]
    return float(max(chances))
