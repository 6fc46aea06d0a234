"""The scan: what is counted, how great a departure is, how rare, and one finding after another."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from logbook.errors import KernelError
from logbook.kernels.scan import LONGEST_RECURRENCE, likelihood_ratio, recurrence, scores, search
from logbook.kernels.successive_scan import Panel, departures
from logbook.kernels.usual_variation import SharedLuck, drawn_counts, highest_count

SEED = 8_841


def looked_at(levels, weeks_ago, windows=(1, 2, 4)):
    return search(
        levels=levels, steps_ago=weeks_ago, windows=windows, weight=np.ones(len(levels)) / 7
    )


def test_levels_are_counted_over_windows_that_end_now():
    weeks_ago = np.array([0, 0, 1, 3, 9])
    found = looked_at([np.array([0, 2, 3]), np.array([1, 4])], weeks_ago)
    counts = np.array([[1.0], [10.0], [100.0], [1000.0], [9.0]])
    assert found.counted(counts)[..., 0].tolist() == [[1, 101, 1101], [10, 10, 10]]
    assert found.runs_of(0, 2).tolist() == [0, 2]
    assert np.exp(found.log_weight).sum() == pytest.approx(1)


def test_the_likelihood_ratio_is_the_published_one_without_over_dispersion():
    """Kulldorff 2001, eq. 1, expectation known: n log(n/mu) + mu - n."""
    n, mu = np.array([12.0, 3.0, 0.0]), np.array([5.0, 8.0, 4.0])
    with np.errstate(divide="ignore", invalid="ignore"):
        published = np.where(n > 0, n * np.log(n / mu), 0) + mu - n
    found = likelihood_ratio(observed=n, expected=mu, variance=mu)
    np.testing.assert_allclose(np.abs(found), published, rtol=1e-4)
    assert np.sign(found).tolist() == [1, -1, -1]


def test_the_likelihood_ratio_is_that_of_a_negative_binomial():
    n, mu, size = 14, 6.0, 4.0
    found = likelihood_ratio(
        observed=np.array(n), expected=np.array(mu), variance=np.array(mu + mu**2 / size)
    )
    ours, theirs = (stats.nbinom.logpmf(n, size, size / (size + mean)) for mean in (n, mu))
    assert found == pytest.approx(ours - theirs)


def test_few_above_are_no_finding_and_kinds_are_weighed():
    one = looked_at([np.array([0])], np.array([0]), windows=(1,))
    shape = np.array([[[2.0, 6.0, 6.0]]])
    found = scores(
        one,
        observed=shape,
        expected=np.full_like(shape, 0.5),
        variance=np.full_like(shape, 0.5),
        kind_weight=np.array([1.0, 1.0, 2.0]),
    )[0, 0]
    assert found[0] == -np.inf
    assert found[2] - found[1] == pytest.approx(np.log(2))


def test_recurrence_is_that_of_the_maxima_within_and_beyond_them():
    maxima = np.random.default_rng(SEED).exponential(1.0, 4_000)
    assert recurrence(np.log(2), maxima) == pytest.approx(2, rel=0.1)
    assert recurrence(np.log(50), maxima) == pytest.approx(50, rel=0.25)
    assert recurrence(99.0, maxima) == LONGEST_RECURRENCE
    assert recurrence(-1.0, maxima) == pytest.approx(1, rel=0.01)


def test_the_highest_count_is_the_point_of_the_poisson_tables():
    """Cumulative Poisson tables: P(X <= 5 | 1) = .9994, P(X <= 4 | 1) = .9963."""
    expected = np.array([[1.0], [1e-6]])
    assert highest_count(expected=expected, run_sd=np.array([0.0]))[:, 0].tolist() == [5, 1]
    wider = highest_count(expected=expected, run_sd=np.array([0.8]))[0, 0]
    assert wider > 8


def test_made_up_counts_have_the_mean_and_spread_that_was_asked_for():
    expected = np.full((200, 1), 2.0)
    lot = SharedLuck(np.zeros(200, dtype=np.intp), np.array([[0.25]]))
    made = np.concatenate(
        list(
            drawn_counts(
                expected=expected, run_sd=np.array([0.3]), shared=[lot], draws=3_000, seed=SEED
            )
        ),
        axis=-1,
    )
    totals = made[:, 0].sum(axis=0)
    assert totals.mean() == pytest.approx(400, rel=0.04)
    # One lot for all: the spread of the total is the lot's, exp(0.25) - 1 of the squared mean.
    assert totals.std() / 400 == pytest.approx(np.sqrt(np.expm1(0.25)), rel=0.1)


def shop(trouble=(), runs=800, kinds=3):
    """Eight weeks of runs on five machines and twenty lots; what is worse by how much."""
    rng = np.random.default_rng(SEED)
    weeks_ago = rng.integers(0, 8, runs)
    machine, lot = rng.integers(0, 5, runs), rng.integers(0, 20, runs)
    expected = np.full((runs, kinds), 0.3)
    mean = expected * np.exp(rng.normal(-0.08, 0.4, expected.shape))
    for levels, level, kind, weeks, ratio in trouble:
        own = ({"machine": machine, "lot": lot}[levels] == level) & (weeks_ago < weeks)
        mean[own, kind] *= ratio
    levels = [np.flatnonzero(machine == each) for each in range(5)]
    levels += [np.flatnonzero(lot == each) for each in range(20)]
    panel = Panel(
        looked_at=search(
            levels=levels, steps_ago=weeks_ago, windows=(1, 2, 3, 4, 6, 8), weight=np.ones(25)
        ),
        observed=rng.poisson(mean).astype(float),
        expected=expected,
        run_sd=np.full(kinds, 0.4),
        shared=[SharedLuck(lot, np.full((20, kinds), 0.04))],
        kind_weight=np.ones(kinds),
    )
    return departures(panels=[panel]).found


def test_two_causes_are_found_one_after_the_other():
    found = shop([("machine", 2, 0, 4, 3.0), ("lot", 6, 1, 3, 6.0)])
    named = {(each.level, each.kind) for each in found}
    assert {(2, 0), (5 + 6, 1)} <= named
    assert len(found) <= 3
    assert found[0].recurrence > 52


def test_an_improvement_is_found_too():
    assert (1, 2) in {(each.level, each.kind) for each in shop([("machine", 1, 2, 6, 0.2)])}


def test_nothing_is_found_where_nothing_has_changed():
    assert shop() == ()


def test_a_search_of_nothing_is_refused():
    with pytest.raises(KernelError, match="Nothing can be looked at"):
        search(levels=[], steps_ago=np.array([0]), windows=(1,), weight=np.array([]))
