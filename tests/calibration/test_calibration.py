"""The fair comparison says what is true about as often as it claims, in shops whose truth is known.

Small: a few shops of each scenario. Comparisons within a shop go together, so the bounds are those
of half as many independent ones, three standard errors out. A comparison that leaves lots out
covers the truth three times in four and a crude one one time in three: both would fail here. The
full size is run by ``tests/benchmarks/bench_calibration.py``.
"""

from __future__ import annotations

import math

import pytest
from supplier_measures import Compared, compare_in_worlds, summary

pytestmark = pytest.mark.slow

KINDS = ("puckering", "gaps", "any")


def within(share: float, count: int) -> float:
    """How far a share of so many comparisons may stray, three standard errors."""
    return 3 * math.sqrt(share * (1 - share) / (count / 2))


@pytest.fixture(scope="module")
def differing() -> list[Compared]:
    return [
        each
        for scenario in ("base", "heavy", "drift", "hard")
        for each in compare_in_worlds(scenario, worlds=range(501, 503), runs=1500, kinds=KINDS)
    ]


def test_intervals_hold_the_truth_as_often_as_they_say(differing):
    covered = sum(each.covered for each in differing) / len(differing)
    assert abs(covered - 0.95) < within(0.95, len(differing))


def test_fair_differences_are_nearer_the_truth_than_crude_ones(differing):
    found = summary(differing)
    assert found.rmse < 0.85 * found.crude_rmse


def test_some_comparisons_are_decided_and_few_wrongly(differing):
    decided = [each for each in differing if each.verdict != "not_enough_data"]
    # Verdicts are those of the program, whose intervals hold for all suppliers together.
    assert len(decided) > 0.12 * len(differing)
    wrong = sum(each.wrong is not None for each in differing) / len(differing)
    assert wrong < 0.03 + within(0.03, len(differing))


def test_suppliers_that_are_alike_are_seldom_called_different():
    found = compare_in_worlds("nullsup", worlds=range(501, 504), runs=1500, kinds=KINDS)
    claimed = sum(each.verdict in ("better", "worse") for each in found) / len(found)
    assert claimed < 0.05 + within(0.05, len(found))
