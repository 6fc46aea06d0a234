"""Trials judged and planned: Student's paired test, sign flips and sample sizes from elsewhere.

* ``scipy.stats.ttest_rel`` and ``permutation_test`` on the same pairs.
* Darwin's 15 pairs of maize (eighths of an inch), whose sign-flip p-value Fisher (1935), The
  Design of Experiments, sec. 21, counted out: 863 of 32,768 on one side, 1,726 on both.
* Pairs for a standardised difference of 0.2, 0.5 and 0.8 at 80 %: 199, 34 and 15, printed by many
  tables and programs (Cohen 1988 and after), recalled and confirmed by the noncentral t of scipy.
"""

import numpy as np
import pytest
from scipy.stats import nct, permutation_test, t, ttest_rel

from logbook.kernels.trials import judge, plan
from logbook.kernels.trials.noncentral import chance_beyond
from logbook.kernels.trials.plan import power_of_pairs
from logbook.kernels.trials.signs import sign_flip

DARWIN = np.array([49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48], dtype=float)


def sewn(pairs, seed):
    random = np.random.default_rng(seed)
    return random.binomial(60, 0.08, pairs), random.binomial(60, 0.05, pairs)


@pytest.mark.parametrize(("pairs", "seed"), [(6, 1), (9, 2), (40, 3)])
def test_equal_pairs_are_judged_by_the_paired_t_test(pairs, seed):
    now, changed = sewn(pairs, seed)
    found = judge(
        count_now=now,
        pieces_now=np.full(pairs, 60),
        count_changed=changed,
        pieces_changed=np.full(pairs, 60),
    )
    same = ttest_rel(changed / 60, now / 60)
    bounds = same.confidence_interval(0.95)
    assert found.p_value == pytest.approx(same.pvalue, rel=1e-10)
    assert found.degrees == pytest.approx(same.df, rel=1e-10)
    assert (found.lower, found.upper) == pytest.approx((bounds.low, bounds.high), rel=1e-9)


def test_sign_flips_agree_with_permutations_of_the_arms():
    now, changed = sewn(9, 5)
    found = judge(
        count_now=now,
        pieces_now=np.full(9, 60),
        count_changed=changed,
        pieces_changed=np.full(9, 60),
    )
    same = permutation_test(
        (changed.astype(float), now.astype(float)),
        lambda one, other, axis: (one - other).sum(axis=axis),
        permutation_type="samples",
        vectorized=True,
        n_resamples=np.inf,
    )
    assert found.sign_flip_draws == 0
    assert found.sign_flip_p_value == pytest.approx(same.pvalue, rel=1e-12)


def test_fisher_counted_the_signs_of_darwins_maize():
    assert sign_flip(differences=DARWIN).p_value == 1726 / 32768


def test_drawn_signs_come_near_the_counted_ones():
    longer = np.concatenate((DARWIN, [0.0, 0.0]))
    found = sign_flip(differences=longer, draws=40_000)
    assert found.draws == 40_000
    assert found.p_value == pytest.approx(1726 / 32768, abs=0.0045)


@pytest.mark.parametrize(("effect", "pairs"), [(0.2, 199), (0.5, 34), (0.8, 15)])
def test_published_numbers_of_pairs(effect, pairs):
    def power(count):
        return power_of_pairs(gap=effect, seen=1 / count, hidden=0.0, pairs=count, alpha=0.05)

    assert power(pairs - 1) < 0.8 <= power(pairs)


@pytest.mark.parametrize(("effect", "pairs"), [(0.2, 199), (0.5, 34), (0.8, 15)])
def test_a_plan_of_that_effect_has_that_many_pairs(effect, pairs):
    # Endless runs leave the luck of runs alone, set so that it gives the effect.
    luck = (0.04 * 0.96) ** 2 + (0.028 * 0.972) ** 2
    found = plan(
        rate_now=0.04,
        rate_changed=0.028,
        pieces_per_arm_and_pair=10**12,
        overdispersion=(0.012 / effect) ** 2 / luck,
    )
    assert found.pairs == pairs


@pytest.mark.parametrize("degrees", [5, 33, 400])
@pytest.mark.parametrize("shift", [-3.0, 0.0, 0.7, 2.9, 8.0])
def test_noncentral_tails(degrees, shift):
    critical = t.ppf(0.975, degrees)
    found = chance_beyond(critical=critical, degrees=degrees, shift=shift)
    assert found == pytest.approx(nct.sf(critical, degrees, shift), abs=1e-9)


def test_with_endless_degrees_the_tail_is_normal():
    endless = chance_beyond(critical=1.96, degrees=np.inf, shift=2.8)
    many = chance_beyond(critical=1.96, degrees=9e5, shift=2.8)
    assert endless == pytest.approx(many, abs=1e-5)
