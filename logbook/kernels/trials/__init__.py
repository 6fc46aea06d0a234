"""A fair trial of one change: pairs of small runs on one job, one as now and one changed.

``plan``     how many pairs it takes, and whether pieces or lots are what is short
``judge``    what the pairs say when the trial is over
``signs``    the same question asked of nothing but the signs
``bounds``   how far out a difference must lie at each look at a running trial
``looking``  when a running trial is looked at, and what that costs
``watched``  what the pairs say so far, without a look costing the trial its honesty
"""

from logbook.kernels.trials.bounds import Bounds, chance_of_crossing, spending_bounds
from logbook.kernels.trials.judge import FEWEST_PAIRS, Judgement, judge
from logbook.kernels.trials.looking import (
    CostOfLooks,
    cost_of_looks,
    pairs_with_looks,
    planned_looks,
)
from logbook.kernels.trials.plan import Plan, plan, power_at
from logbook.kernels.trials.watched import Look, watch

__all__ = [
    "FEWEST_PAIRS",
    "Bounds",
    "CostOfLooks",
    "Judgement",
    "Look",
    "Plan",
    "chance_of_crossing",
    "cost_of_looks",
    "judge",
    "pairs_with_looks",
    "plan",
    "planned_looks",
    "power_at",
    "spending_bounds",
    "watch",
]
