"""What is said of levels is true about as often as it claims, in shops whose truth is known.

Small; the full size is run by ``tests/benchmarks/bench_where.py``.
"""

from __future__ import annotations

import pytest
from where_measures import Judged, coverage, dearest_found, judged_in_worlds

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def judged() -> list[Judged]:
    return judged_in_worlds("base", worlds=range(601, 603), runs=1500, kinds=("puckering", "gaps"))


def test_intervals_hold_the_true_ratio(judged: list[Judged]) -> None:
    # Two small shops: what is not known of the spread of lots is shared by all lots of a shop.
    assert 0.85 <= coverage(judged) <= 0.995


def test_shrunken_ratios_are_nearer_the_truth_than_counted_ones(judged: list[Judged]) -> None:
    counted, shrunk = (
        sum((getattr(each, what) - each.truth) ** 2 for each in judged)
        for what in ("ratio", "shrunk")
    )
    assert shrunk < 0.8 * counted


def test_the_truly_dearest_is_among_the_first_three(judged: list[Judged]) -> None:
    right, questions = dearest_found(judged)
    assert questions >= 8
    assert right >= 0.7
