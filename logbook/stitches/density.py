"""The density map: stitches per mm2 and thread per cm2, place by place.

A needle point is a point, and a square laid over a fill catches two or three of a row as it
happens to lie. Each point is therefore spread along the thread, over the half stitch before and
the half stitch after it (where the thread goes on), and its square has edges half a millimetre
soft. A fill with rows s mm apart and stitches l mm long then measures 1 / (s l) wherever the
square lies, a satin column of width w 1 / (s w), s being the distance between neighbouring
threads (not between pairs); see ``tests/reference/test_known_densities.py``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from logbook.stitches.design import BoolArray, FloatArray, IntArray
from logbook.stitches.threads import Thread

CELL_MM = 1.0
"""Side of a published cell."""
FINE_MM = 0.5
"""Side of a cell that is worked with, near the 0.4 mm that a 40 wt thread is wide."""
WINDOW_MM = 10.0
"""Side of the moving square: one square centimetre."""
SAMPLE_MM = 0.5
MOST_SAMPLES = 32
"""Of one stitch; 16 mm, longer than any machine sews."""
ALIKE = 0.02
"""Squares that differ by no more are as dense as each other: a row more or less lies in one."""
AT_ONCE = 50_000
"""Stitches whose samples are held in memory together."""

_PER_CELL = round(CELL_MM / FINE_MM)
_HALF = round(WINDOW_MM / FINE_MM / 2)


@dataclass(frozen=True, slots=True, eq=False)
class DensityMap:
    """Maps over a grid of cells, rows downwards from ``origin_mm`` (the grid's top left corner).

    Attributes
    ----------
    origin_mm
        (x, y) in the design's coordinates.
    penetrations
        (rows, columns) needle points in each cell of ``CELL_MM``.
    thread_mm
        (rows, columns) thread of stitches in each cell.
    sewn_mm2
        (rows, columns) sewn area of each cell.
    density
        (rows, columns) stitches per mm2 in the square centimetre around each cell.
    around
        (2 rows + 1, 2 columns + 1) the same around every corner of the cells of ``FINE_MM``.
    densest
        The highest of ``around``.
    densest_at_mm
        (x, y) of the middle of that square; of all that differ by no more than ``ALIKE``, the one
        in the densest surroundings.
    densest_thread_mm
        Thread of stitches in the square there.
    densest_points
        Needle points in it, plainly counted.
    """

    origin_mm: tuple[float, float]
    penetrations: IntArray
    thread_mm: FloatArray
    sewn_mm2: FloatArray
    density: FloatArray
    around: FloatArray
    densest: float
    densest_at_mm: tuple[float, float]
    densest_thread_mm: float
    densest_points: int

    def at(self, points_mm: FloatArray) -> FloatArray:
        """Stitches per mm2 around each place; 0 beyond the grid.

        Parameters
        ----------
        points_mm
            (p, 2) in the design's coordinates.
        """
        place = np.rint((points_mm - np.array(self.origin_mm)) / FINE_MM)
        rows, columns = self.around.shape
        inside = np.all((place >= 0) & (place < (columns, rows)), axis=1)
        column, row = np.where(inside[:, None], place, 0).astype(np.int64).T
        return np.where(inside, self.around[row, column], 0.0)


def map_density(thread: Thread) -> DensityMap:
    """Lay the grid over the thread and count.

    Parameters
    ----------
    thread
        Needle points and what lies between them.
    """
    points = thread.points_mm
    origin = np.floor(points.min(axis=0) / CELL_MM) * CELL_MM
    columns, rows = (np.floor((points.max(axis=0) - origin) / CELL_MM) + 1).astype(int)
    fine = (int(rows) * _PER_CELL, int(columns) * _PER_CELL)
    stitches, length, touched = _spread(thread, origin, fine)
    around = _squares(stitches)
    row, column = _innermost_of_the_highest(around)
    middle = origin + np.array([column, row]) * FINE_MM
    inside = np.all(np.abs(points - middle) <= WINDOW_MM / 2, axis=1)
    return DensityMap(
        origin_mm=(float(origin[0]), float(origin[1])),
        penetrations=_counted(points, origin, (int(rows), int(columns))),
        thread_mm=_in_cells(length),
        sewn_mm2=_in_cells(_closed(touched).astype(np.float64)) * FINE_MM**2,
        density=around[1::_PER_CELL, 1::_PER_CELL] / WINDOW_MM**2,
        around=around / WINDOW_MM**2,
        densest=float(around.max()) / WINDOW_MM**2,
        densest_at_mm=(float(middle[0]), float(middle[1])),
        densest_thread_mm=float(_square_at(length, row, column)),
        densest_points=int(np.count_nonzero(inside)),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Samples:
    """Places along the thread, in fine cells from the grid's corner, and what each stands for."""

    across: FloatArray
    down: FloatArray
    stitches: FloatArray
    length_mm: FloatArray


def _innermost_of_the_highest(around: FloatArray) -> tuple[int, int]:
    """A place as dense as the highest, in the densest surroundings; then nearest to their middle.

    On an even fill the highest of all lies anywhere, as its rows happen to fall, and may lie at
    the edge: its square then frames what is palest.
    """
    rounded = np.round(around, 6)
    alike = np.argwhere(rounded >= (1 - ALIKE) * rounded.max())
    # A square is an even number of cells wide: its four places about a corner are even all round.
    wide = _squares(around)
    both = wide[:-1] + wide[1:]
    surroundings = np.round(both[:, :-1] + both[:, 1:], 6)[tuple(alike.T)]
    equal = alike[surroundings >= (1 - ALIKE) * surroundings.max()]
    away = ((equal - equal.mean(axis=0)) ** 2).sum(axis=1)
    row, column = equal[int(away.argmin())]
    return int(row), int(column)


def _spread(
    thread: Thread, origin: FloatArray, shape: tuple[int, int]
) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Stitches, thread in mm, and whether there is any, in every fine cell."""
    # A margin of one cell takes what falls beyond the middle of the outermost cells.
    rows, columns = shape[0] + 2, shape[1] + 2
    stitches, length = np.zeros(rows * columns), np.zeros(rows * columns)
    touched = np.zeros(rows * columns, dtype=np.bool_)
    for some in _samples(thread, origin):
        touched[(some.down.astype(np.int64) + 1) * columns + some.across.astype(np.int64) + 1] = 1
        left, above = some.across + 0.5, some.down + 0.5
        column, row = left.astype(np.int64), above.astype(np.int64)
        left, above = left - column, above - row
        corner = row * columns + column
        for step, weight in (
            (0, (1 - left) * (1 - above)),
            (1, left * (1 - above)),
            (columns, (1 - left) * above),
            (columns + 1, left * above),
        ):
            where = corner + step
            stitches += np.bincount(where, weight * some.stitches, minlength=rows * columns)
            length += np.bincount(where, weight * some.length_mm, minlength=rows * columns)
    return (
        _without_margin(stitches.reshape(rows, columns)),
        _without_margin(length.reshape(rows, columns)),
        touched.reshape(rows, columns)[1:-1, 1:-1],
    )


def _samples(thread: Thread, origin: FloatArray) -> Iterator[_Samples]:
    """What hangs on no stitch before or after stays at its needle point; the rest is spread."""
    x, y = ((thread.points_mm - origin) / FINE_MM).T
    loose = np.ones(len(x))
    loose[:-1] -= 0.5 * thread.sewn
    loose[1:] -= 0.5 * thread.sewn
    bare = loose > 0
    if bare.any():
        yield _Samples(x[bare], y[bare], loose[bare], np.zeros(np.count_nonzero(bare)))
    sewn = np.flatnonzero(thread.sewn)
    for first in range(0, len(sewn), AT_ONCE):
        at = sewn[first : first + AT_ONCE]
        long = thread.length_mm[at]
        count = np.clip(np.ceil(long / SAMPLE_MM), 1, MOST_SAMPLES).astype(np.int64)
        of = np.repeat(np.arange(len(at)), count)
        begun = np.cumsum(count) - count
        part = (np.arange(len(of)) - begun[of] + 0.5) / count[of]
        yield _Samples(
            x[at][of] + (x[at + 1] - x[at])[of] * part,
            y[at][of] + (y[at + 1] - y[at])[of] * part,
            (1 / count)[of],
            (long / count)[of],
        )


def _without_margin(wide: FloatArray) -> FloatArray:
    for axis in (0, 1):
        inner = np.moveaxis(wide, axis, 0)
        inner[1] += inner[0]
        inner[-2] += inner[-1]
    return wide[1:-1, 1:-1]


def _squares(fine: FloatArray) -> FloatArray:
    """Sum over the square centimetre around every corner of the fine cells."""
    for axis in (0, 1):
        edges = [(0, 0), (0, 0)]
        edges[axis] = (_HALF + 1, _HALF)
        sums = np.cumsum(np.pad(fine, edges), axis=axis)
        side = 2 * _HALF
        ends = [slice(None), slice(None)]
        starts = [slice(None), slice(None)]
        ends[axis], starts[axis] = slice(side, None), slice(None, -side)
        fine = sums[tuple(ends)] - sums[tuple(starts)]
    return fine


def _square_at(fine: FloatArray, row: int, column: int) -> np.float64:
    part = fine[max(row - _HALF, 0) : row + _HALF, max(column - _HALF, 0) : column + _HALF]
    return np.float64(part.sum())


def _counted(points: FloatArray, origin: FloatArray, shape: tuple[int, int]) -> IntArray:
    cell = np.floor((points - origin) / CELL_MM).astype(np.int64)
    flat = np.minimum(cell[:, 1], shape[0] - 1) * shape[1] + np.minimum(cell[:, 0], shape[1] - 1)
    return np.bincount(flat, minlength=shape[0] * shape[1]).reshape(shape)


def _in_cells(fine: FloatArray) -> FloatArray:
    rows, columns = fine.shape
    shape = (rows // _PER_CELL, _PER_CELL, columns // _PER_CELL, _PER_CELL)
    return np.asarray(fine.reshape(shape).sum(axis=(1, 3)))


def _closed(touched: BoolArray) -> BoolArray:
    """Fill gaps of up to two fine cells between threads (a closing by 3 by 3 cells)."""
    grown = _any_of_nine(np.pad(touched, 2))
    return ~_any_of_nine(~grown)[2:-2, 2:-2]


def _any_of_nine(mask: BoolArray) -> BoolArray:
    wide = mask.copy()
    wide[1:] |= mask[:-1]
    wide[:-1] |= mask[1:]
    tall = wide.copy()
    tall[:, 1:] |= wide[:, :-1]
    tall[:, :-1] |= wide[:, 1:]
    return tall
