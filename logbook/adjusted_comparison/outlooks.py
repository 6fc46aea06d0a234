"""What an order to come will show: the share to expect, and how far single orders lie from it.

An order is not the average of orders: its lot, design, month, machine or operator, where they are
not told, are new draws, and so is its own luck. All of them widen what is predicted, the first
because the record says how far they lie apart, the last because runs differ beyond counting.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook.adjusted_comparison.predictions import (
    FittedKind,
    Setup,
    expected_rates,
    without_backing,
)
from logbook.adjusted_comparison.terms import LOT, SUPPLIER
from logbook.kernels.setup_model.responses import effect_of, rate_at, slope_at
from logbook.kernels.setup_model.setups import NO_LEVEL


@dataclass(frozen=True, slots=True)
class Outlook:
    """Share of an order's pieces, or events a stitch.

    Attributes
    ----------
    rate
        To be expected.
    variance
        Of single orders' shares around it, doubt about ``rate`` included.
    """

    rate: float
    variance: float


def outlook(each: FittedKind, *, job: Setup, runs: float) -> Outlook:
    """Look ahead to one order.

    Parameters
    ----------
    each
        The fitted model of what is asked about.
    job
        Fabric, design and setup as far as they are known; what is left out is drawn anew.
    runs
        In how many runs the order will be sewn; at least 1. The luck of runs evens out over them.

    Notes
    -----
    Effects left out are normal with the standard deviations of the fit; on the scale of rates they
    are log-normal to first order, with variance ``rate² (exp(v) - 1)`` for ``v`` on the scale of
    effects (Johnson, Kotz & Balakrishnan 1994, Continuous Univariate Distributions 1, chapter 14).
    """
    fit, measure = each.fit, each.rows.setups.measure
    found = expected_rates(each, [job])
    middle = float(found.rate[0])
    known = found.variance_of(np.ones(1))
    codes = {
        name: NO_LEVEL if name == LOT or name not in job else each.rows.code(name, job[name])
        for name in each.rows.levels
    }
    never = {LOT, SUPPLIER} if without_backing(job) else set()
    apart = {
        term.name: float(fit.sds[at]) ** 2
        for at, term in enumerate(fit.layout.terms)
        if fit.estimated[at]
        and term.factors
        and term.slope is None
        and any(codes[name] < 0 for name in term.factors)
        and never.isdisjoint(term.factors)
    }
    # Lots are averaged over already; what else is left open shifts the average too.
    shift = 0.5 * sum(spread for name, spread in apart.items() if name != LOT)
    odds_left = 1.0 - middle if measure == "pieces" else 1.0
    raised = float(rate_at(np.array(effect_of(middle, measure) + shift * odds_left), measure))
    open_variance = sum(apart.values()) + fit.overdispersion / max(1.0, runs)
    relative = (float(slope_at(np.asarray(raised), measure)) / raised) ** 2 * open_variance
    variance = raised**2 * np.expm1(min(relative, 4.0)) + known * (raised / middle) ** 2
    unit = each.rows.unit
    return Outlook(raised / unit, float(variance) / unit**2)
