"""Fills and satin columns whose density follows from how they are made.

A fill with rows ``s`` mm apart and stitches ``l`` mm long has one needle point on every ``s l``
mm², so 1 / (s l) stitches/mm² and 1 / s mm of thread on a mm². A satin column of width ``w`` has
one needle point on every ``s w`` mm², ``s`` being the distance between neighbouring threads
along the column; were ``s`` the distance between pairs of threads (same side to same side), it
would have twice as many. Plain geometry: no source is needed, and no number here comes from the
measuring code.

The square centimetre must lie within the stitching: at an edge, the turns from row to row add
needle points of their own. Tolerance 2 %: what is left is how many rows a square happens to catch.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from stitch_files import pattern_of, plain_fill, satin_column, written

from logbook.stitches import Measurement, design_of, measure

TOLERANCE = 0.02
INSIDE = 12
"""Cells of 1 mm to leave out at each edge: a square reaches 5 mm from its middle, with soft edges
5.5 mm, and a stitch may reach 5 mm further."""


def measured(*steps: list[tuple[float, float]]) -> Measurement:
    return measure(design_of(written(pattern_of(*steps), "dst"), file_name="a.dst"))


def inside(grid: NDArray[np.float64]) -> NDArray[np.float64]:
    return grid[INSIDE:-INSIDE, INSIDE:-INSIDE]


@pytest.mark.parametrize("stagger", [0.0, 0.25, 0.37])
@pytest.mark.parametrize(
    ("spacing", "stitch"),
    [(0.3, 2.0), (0.4, 2.5), (0.4, 4.0), (0.5, 3.0), (0.5, 5.0), (0.6, 3.7), (0.7, 4.1)],
)
def test_fills(spacing: float, stitch: float, stagger: float) -> None:
    found = measured(
        plain_fill(width=50, height=50, spacing=spacing, stitch=stitch, stagger=stagger)
    )
    density = inside(found.density.density)
    assert density.min() == pytest.approx(1 / (spacing * stitch), rel=TOLERANCE)
    assert density.max() == pytest.approx(1 / (spacing * stitch), rel=TOLERANCE)
    thread = inside(found.density.thread_mm).mean()
    assert thread == pytest.approx(1 / spacing, rel=TOLERANCE)


@pytest.mark.parametrize("width", [1.0, 2.0, 3.0, 5.0])
@pytest.mark.parametrize("spacing", [0.3, 0.4, 0.5])
def test_satin_columns_side_by_side(width: float, spacing: float) -> None:
    columns = [
        satin_column(width=width, length=40, spacing=spacing, left=number * width)
        for number in range(round(40 / width))
    ]
    density = inside(measured(*columns).density.density)
    assert density.min() == pytest.approx(1 / (spacing * width), rel=TOLERANCE)
    assert density.max() == pytest.approx(1 / (spacing * width), rel=TOLERANCE)


def test_one_satin_column_in_a_square() -> None:
    # 10 mm of column hold 10 / s needle points, whatever its width.
    found = measured(satin_column(width=4, length=60, spacing=0.4))
    middle = found.density.at(np.array([[2.0, 30.0]]))[0]
    assert middle == pytest.approx(10 / 0.4 / 100, rel=TOLERANCE)


def test_pair_spacing_lays_half_of_neighbour_spacing() -> None:
    # "0.40 mm" as the distance of neighbouring rows, and of pairs: rows 0.4 and 0.2 mm apart.
    one = measured(plain_fill(width=50, height=50, spacing=0.4, stitch=4))
    other = measured(plain_fill(width=50, height=50, spacing=0.2, stitch=4))
    ratio = inside(other.density.density).mean() / inside(one.density.density).mean()
    assert ratio == pytest.approx(2, rel=TOLERANCE)


def test_layers_add_up() -> None:
    fill = plain_fill(width=50, height=50, spacing=0.4, stitch=4, stagger=0.37)
    across = [(y, x) for x, y in plain_fill(width=50, height=50, spacing=0.5, stitch=2.5)]
    density = inside(measured(fill, across).density.density)
    assert density.mean() == pytest.approx(1 / 1.6 + 1 / 1.25, rel=TOLERANCE)


def test_mean_and_length_of_a_large_fill() -> None:
    # 251 rows of 100 mm and 250 turns of 0.4 mm between them.
    found = measured(plain_fill(width=100, height=100, spacing=0.4, stitch=4))
    assert found.thread_length_m == pytest.approx((251 * 100 + 250 * 0.4) / 1000)
    assert found.stitches == 251 * 26
    # The thread is 0.4 mm wide; the area is that of 100.4 mm squared.
    assert found.mean_density == pytest.approx(251 * 26 / 100.4**2, rel=TOLERANCE)
    assert found.sewn_area_cm2 == pytest.approx(100.4**2 / 100, rel=TOLERANCE)


def test_plain_counting_says_the_same_of_many_points() -> None:
    # Needle points strewn at random: every square centimetre by plain counting, without spreading.
    rng = np.random.default_rng(7)
    steps = np.clip(rng.normal(0, 1.2, (60_000, 2)), -4, 4)
    places = np.round(np.abs(np.cumsum(steps, axis=0) % 80 - 40), 1)
    found = measured([(float(x), float(y)) for x, y in places])
    counts, _, _ = np.histogram2d(places[:, 1], places[:, 0], bins=[np.arange(42), np.arange(42)])
    plain = [
        counts[row : row + 10, column : column + 10].sum() / 100
        for row in range(30)
        for column in range(30)
    ]
    assert found.density.densest == pytest.approx(max(plain), rel=0.05)
