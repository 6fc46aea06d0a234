"""Marks in denser places: the published statistic, the level, and groups that hang together."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import KernelError
from logbook.kernels.point_density import point_density

STITCHES = np.arange(1000.0)


def test_z_and_p_belong_together_as_published() -> None:
    """Berman's Z2 of 3,604 trees (the bei data of the spatstat package) against elevation.

    Published output: Z2 = 2.4515, p-value = 0.01423 (spatstat workshop solutions, Baddeley,
    Turner & Rubak). The same mean standing over as many marks must give the same pair.
    """
    mean = 0.5 + 2.4515 / np.sqrt(12 * 3604)
    spread = np.linspace(-0.4, 0.4, 3604)
    marks = (mean + spread) * 1_000_000
    fit = point_density(
        mark_density=marks, stitch_density=np.arange(1_000_000.0), groups=np.arange(3604)
    )
    assert fit.z == pytest.approx(2.4515, abs=1e-3)
    assert fit.p_independent == pytest.approx(0.01423, abs=5e-5)


def test_marks_in_the_densest_tenth_are_found() -> None:
    random = np.random.default_rng(3)
    marks = np.concatenate((random.uniform(900, 999, 61), random.uniform(0, 899, 39)))
    fit = point_density(mark_density=marks, stitch_density=STITCHES, groups=np.arange(100))
    assert fit.top_share == pytest.approx(0.61)
    assert fit.top == pytest.approx(0.1)
    assert fit.top_lower > 0.5 > fit.top
    assert fit.p_value < 0.001
    assert fit.mean_standing > 0.7


def test_marks_that_follow_the_stitches_are_called_no_oftener_than_promised() -> None:
    random = np.random.default_rng(5)
    called = []
    for _ in range(300):
        marks = random.choice(STITCHES, 40)
        fit = point_density(mark_density=marks, stitch_density=STITCHES, groups=np.arange(40) // 4)
        called.append(fit.p_value <= 0.05)
    assert np.mean(called) < 0.05 + 3 * np.sqrt(0.05 * 0.95 / 300)
    assert np.mean(called) > 0.01


def test_runs_that_hang_together_do_not_raise_false_alarms() -> None:
    """Ten marks a run all in one place: independent marks would call far too often."""
    random = np.random.default_rng(9)
    by_groups, by_marks = [], []
    for _ in range(300):
        marks = np.repeat(random.choice(STITCHES, 9), 10)
        fit = point_density(
            mark_density=marks, stitch_density=STITCHES, groups=np.repeat(np.arange(9), 10)
        )
        by_groups.append(fit.p_value <= 0.05)
        by_marks.append(fit.p_independent <= 0.05)
    assert np.mean(by_groups) < 0.05 + 3 * np.sqrt(0.05 * 0.95 / 300)
    assert np.mean(by_marks) > 0.3


def test_the_interval_of_the_share_holds_for_runs_that_hang_together() -> None:
    random = np.random.default_rng(11)
    held = []
    for _ in range(400):
        runs = np.where(random.random(20) < 0.3, random.uniform(900, 999, 20), 100.0)
        fit = point_density(
            mark_density=np.repeat(runs, 5),
            stitch_density=STITCHES,
            groups=np.repeat(np.arange(20), 5),
        )
        held.append(fit.top_lower <= 0.3 <= fit.top_upper)
    assert np.mean(held) > 0.92


def test_one_run_alone_proves_nothing() -> None:
    fit = point_density(
        mark_density=[990.0] * 50, stitch_density=STITCHES, groups=np.zeros(50, dtype=np.int64)
    )
    assert fit.p_value == 1.0
    assert fit.top_upper - fit.top_lower > 0.6


@given(
    st.lists(st.integers(0, 20), min_size=1, max_size=30),
    st.lists(st.integers(0, 20), min_size=1, max_size=60),
)
def test_only_the_order_of_densities_matters(marks: list[int], stitches: list[int]) -> None:
    groups = np.arange(len(marks)) // 2
    plain = point_density(
        mark_density=np.array(marks, float), stitch_density=np.array(stitches, float), groups=groups
    )
    bent = point_density(
        mark_density=np.array(marks, float) ** 3 + 1,
        stitch_density=np.array(stitches, float) ** 3 + 1,
        groups=groups,
    )
    assert bent.standing == pytest.approx(plain.standing)
    assert bent.p_value == plain.p_value
    assert plain.standing.min() >= 0
    assert plain.standing.max() <= 1
    assert 0 <= plain.top_lower <= plain.top_share <= plain.top_upper <= 1


@pytest.mark.parametrize(
    ("marks", "stitches", "groups"),
    [([], [1.0], []), ([1.0], [], [0]), ([1.0, 2.0], [1.0], [0])],
)
def test_nothing_to_compare_is_said(
    marks: list[float], stitches: list[float], groups: list[int]
) -> None:
    with pytest.raises(KernelError):
        point_density(
            mark_density=marks, stitch_density=stitches, groups=np.array(groups, dtype=np.int64)
        )
