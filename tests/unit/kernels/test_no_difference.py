from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from logbook.kernels.setup_model.no_difference import NOTHING_PRIOR, chance_of_difference, told


def expected(estimates, errors, spread, overdispersion=0.0):
    """Setups with one effect each, seen with an error and shrunk by a known spread."""
    estimates, errors = np.append(0.0, estimates), np.append(1e-9, errors)
    variance = 1 / (1 / errors**2 + 1 / spread**2)
    count = estimates.size
    return SimpleNamespace(
        slope=np.ones(count),
        gradients=np.eye(count),
        carried=np.diag(variance),
        unseen=np.zeros(count),
        fit=SimpleNamespace(
            sds=np.array([spread]),
            layout=SimpleNamespace(group_of=np.zeros(count, dtype=int)),
            coefficients=variance / errors**2 * estimates,
            overdispersion=overdispersion,
        ),
    )


def test_the_chance_of_a_difference_is_bayes_rule_on_what_the_data_alone_say():
    # One candidate: the spread of row 0 itself is in the prior of the difference, not in its error.
    chance = chance_of_difference(kinds=[expected([0.9], [0.3], 0.5)])
    assert chance[0, 0] == 0
    prior = 2 * 0.5**2
    kept = 1 / (1 / 0.3**2 + 1 / 0.5**2)
    alone = kept * prior / (prior - kept)
    seen = kept / 0.3**2 * 0.9 * prior / (prior - kept)
    factor = stats.norm.pdf(seen, 0, np.sqrt(alone)) / stats.norm.pdf(
        seen, 0, np.sqrt(alone + prior)
    )
    share = 0.5
    for _ in range(60):
        none = share * factor / (share * factor + 1 - share)
        share = (none + NOTHING_PRIOR) / (1 + 2 * NOTHING_PRIOR)
    assert chance[0, 1] == pytest.approx(1 - none, rel=1e-3)


def test_where_no_candidate_differs_a_single_one_is_believed_less():
    errors = np.full(20, 0.3)
    some = np.append(np.linspace(-1.5, 1.5, 19), 0.8)
    none = np.append(np.linspace(-0.3, 0.3, 19), 0.8)
    among_some, among_none = (
        chance_of_difference(kinds=[expected(each, errors, 0.5)])[0, -1] for each in (some, none)
    )
    assert among_none < among_some < 1


def test_what_is_told_is_the_likely_part_of_a_saving_less_the_luck_of_runs():
    kinds = [expected([0.5], [0.2], 0.5, overdispersion=each) for each in (0.0, 1.0)]
    got = told(
        kinds=kinds,
        chance=np.array([[0.0, 0.5], [0.0, 1.0]]),
        gain=np.array([[0.0, 0.04], [0.0, 0.02]]),
        variance=np.array([[0.0, 3e-4], [0.0, 1e-4]]),
        error=np.array([0.0, 0.02]),
    )
    # A quarter of the variance is of the kind whose runs are half luck.
    assert got == pytest.approx([0.0, 0.5 * 0.04 + 0.02 - 0.25 * 0.5 * 0.02])
