"""Bounds of looks at a running trial: published tables, an independent integral, and chance itself.

* Lan-DeMets bounds of the O'Brien-Fleming type, five equal looks, two-sided 5 %: as printed in
  many tables made with the program of Reboussin, DeMets, Kim & Lan (2000), Controlled Clinical
  Trials 21:190-207; recalled, not looked up, and confirmed here by an independent integral.
  The program's grid is coarse, hence 2e-4.
* Four looks, one-sided 5 %: output printed in the documentation of SeqBounds.jl (PharmCat). Ours
  has both sides at 5 % each, which differs by chances of crossing both: below 2e-4.
* Pocock and O'Brien-Fleming constants, two-sided 5 %: Jennison & Turnbull (2000), Group
  Sequential Methods, tables 2.1 and 2.3, three decimals; recalled likewise.
"""

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from logbook.kernels.trials import chance_of_crossing, spending_bounds

FIVE = np.arange(1, 6) / 5


def test_five_equal_looks():
    bounds = spending_bounds(fraction_done=FIVE)
    assert bounds.z == pytest.approx([4.8769, 3.3569, 2.6803, 2.2898, 2.0310], abs=2e-4)


def test_four_equal_looks():
    bounds = spending_bounds(fraction_done=[0.25, 0.5, 0.75, 1.0], alpha=0.1)
    assert bounds.z == pytest.approx([3.74955, 2.53993, 2.01604, 1.72014], abs=2e-4)
    # Printed for one side.
    spent = [8.85754e-5, 0.0055746, 0.0236251, 0.05]
    assert bounds.spent / 2 == pytest.approx(spent, rel=1e-5)


@pytest.mark.parametrize(("looks", "constant"), [(2, 2.178), (3, 2.289), (5, 2.413), (10, 2.555)])
def test_pocock_constants(looks, constant):
    done = np.arange(1, looks + 1) / looks
    crossed = chance_of_crossing(fraction_done=done, z=np.full(looks, constant))
    assert crossed.sum() == pytest.approx(0.05, abs=1e-4)


@pytest.mark.parametrize(("looks", "constant"), [(2, 1.977), (3, 2.004), (5, 2.040), (10, 2.087)])
def test_obrien_fleming_constants(looks, constant):
    done = np.arange(1, looks + 1) / looks
    crossed = chance_of_crossing(fraction_done=done, z=constant / np.sqrt(done))
    assert crossed.sum() == pytest.approx(0.05, abs=1e-4)


@pytest.mark.parametrize("done", [[0.5, 1.0], [0.2, 0.3, 1.0], list(FIVE)])
def test_an_independent_integral_agrees(done):
    """The chance of staying inside all bounds is a box of a multivariate normal distribution."""
    bounds = spending_bounds(fraction_done=done)
    share = np.array(done)
    together = np.sqrt(np.minimum.outer(share, share) / np.maximum.outer(share, share))
    inside = multivariate_normal(cov=together, seed=1, maxpts=2_000_000, abseps=1e-7).cdf(
        bounds.z, lower_limit=-bounds.z
    )
    assert 1 - inside == pytest.approx(0.05, abs=1e-5)


@pytest.mark.parametrize("drift", [0.0, 2.5])
def test_walks_cross_as_often_as_computed(drift):
    bounds = spending_bounds(fraction_done=FIVE)
    steps = np.random.default_rng(8).normal(drift / 5, np.sqrt(0.2), size=(100_000, 5))
    outside = np.abs(steps.cumsum(axis=1) / np.sqrt(FIVE)) >= bounds.z
    first = np.where(outside.any(axis=1), outside.argmax(axis=1), 5)
    found = np.bincount(first, minlength=6)[:5] / 100_000
    computed = chance_of_crossing(fraction_done=FIVE, z=bounds.z, drift=drift)
    errors = np.sqrt(computed * (1 - computed) / 100_000)
    assert (np.abs(found - computed) <= 4 * errors + 1e-5).all()
