"""Products of the rows' matrix with itself, made of cross tabulations.

A row takes one coefficient of a term at most, so that ``X'WX`` is, block by block, the weights
counted by pairs of levels. Terms of few levels are bundled: their joint codes are counted against
each other in one pass over the rows, and small matrices share the counts out to the coefficients.
The term of most levels stands by itself (see :mod:`.blocks`), as do others of many.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array, hstack

from logbook.kernels.arguments import FloatArray
from logbook.kernels.setup_model.blocks import Matrix, Precision
from logbook.kernels.setup_model.setups import IntArray
from logbook.kernels.setup_model.terms import Layout, Rows

FEWEST_BUNDLED = 7
"""Terms; fewer are counted pair by pair."""
MOST_JOINT_CODES = 400
MANY_LEVELS = 500
ROWS_LOOKED_AT = 10_000
MOST_VALUES = 16
"""A measured quantity of so few values is coded like a factor."""
LARGEST_TABLE = 1_000_000
"""Cells of a cross tabulation that is kept whole; of a larger one only those that occur."""
LARGEST_LOOKUP = 50_000_000
DENSE_BORDER = 2_000_000
PAIRS_KEPT_BYTES = 100_000_000

Codes = NDArray[np.int32]


@dataclass(frozen=True, slots=True, eq=False)
class Bundle:
    """Terms counted together.

    Attributes
    ----------
    codes, size
        (m,) joint codes 0, 1, …, and how many there are.
    places
        (c,) positions of its coefficients.
    shares
        (c, size) what each joint code gives each coefficient; None where code i is coefficient i,
        and codes from c on take none.
    by
        (m,) what each row's coefficient is multiplied by, or None.
    """

    codes: Codes
    size: int
    places: IntArray
    shares: csr_array | None
    by: FloatArray | None

    def weighed(self, weights: FloatArray) -> FloatArray:
        """Weights times the row's own multiplier, (m,)."""
        return weights if self.by is None else weights * self.by

    def shared_out(self, table: NDArray[Any]) -> FloatArray:
        """Rows of a (size, k) table given to the coefficients, (c, k)."""
        given = table[: self.places.size] if self.shares is None else self.shares @ table
        return np.asarray(given)

    def effects(self, coefficients: FloatArray) -> FloatArray:
        """Sum of effects of each joint code, (size,)."""
        own = coefficients[self.places]
        if self.shares is not None:
            return np.asarray(self.shares.T @ own)
        if own.size == self.size:
            return own
        return np.append(own, np.zeros(self.size - own.size))


@dataclass(frozen=True, slots=True, eq=False)
class _Occurring:
    """The pairs of codes of two bundles that occur: a sparse table, less what is counted."""

    at: Codes
    columns: IntArray
    starts: IntArray
    shape: tuple[int, int]

    @classmethod
    def of(cls, one: Bundle, other: Bundle) -> _Occurring:
        room = one.size * other.size
        joint = one.codes.astype(np.int64) * other.size + other.codes
        if room <= LARGEST_LOOKUP:
            seen = np.zeros(room, dtype=bool)
            seen[joint] = True
            cells = np.flatnonzero(seen)
            lookup = np.empty(room, dtype=np.int32)
            lookup[cells] = np.arange(cells.size, dtype=np.int32)
            at = lookup[joint]
        else:
            cells, at = np.unique(joint, return_inverse=True)
        starts = np.searchsorted(cells, np.arange(one.size + 1) * other.size)
        return cls(at.astype(np.int32), cells % other.size, starts, (one.size, other.size))

    def table(self, weights: FloatArray) -> csr_array:
        counted = np.bincount(self.at, weights=weights, minlength=self.columns.size)
        return csr_array((counted, self.columns, self.starts), shape=self.shape)


@dataclass(frozen=True, slots=True, eq=False)
class Crosstabs:
    """Rows in bundles, ready to be counted again and again with other weights.

    Attributes
    ----------
    bundles
        That of the term set apart first, then those of many levels, then the others.
    size
        P, how many coefficients there are.
    many
        How many coefficients after those apart are of terms of many levels.
    joint, occurring
        By pair of bundles, their joint codes where those are kept, and the pairs that occur where
        a table of all would be large.
    """

    bundles: tuple[Bundle, ...]
    size: int
    many: int
    joint: dict[tuple[int, int], IntArray]
    occurring: dict[tuple[int, int], _Occurring]

    @classmethod
    def of(cls, layout: Layout, rows: Rows) -> Crosstabs:
        """Bundle the terms."""
        bundles, many = _bundled(layout, rows)
        count, row_count = len(bundles), bundles[0].codes.size
        keep = count * (count - 1) // 2 * row_count * 8 <= PAIRS_KEPT_BYTES
        joint, occurring = {}, {}
        for one in range(count):
            for other in range(one + 1, count):
                if bundles[one].size * bundles[other].size > LARGEST_TABLE:
                    occurring[one, other] = _Occurring.of(bundles[one], bundles[other])
                elif keep:
                    joint[one, other] = _joint(bundles[one], bundles[other])
        return cls(tuple(bundles), layout.size, many, joint, occurring)

    def predict(self, coefficients: FloatArray) -> FloatArray:
        """Sum of effects of each row, (m,)."""
        total = np.zeros(self.bundles[0].codes.size)
        for bundle in self.bundles:
            part = bundle.effects(coefficients)[bundle.codes]
            total += part if bundle.by is None else part * bundle.by
        return total

    def gather(self, weights: FloatArray) -> FloatArray:
        """``X' weights``, (P,)."""
        result = np.empty(self.size)
        for bundle in self.bundles:
            counted = np.bincount(
                bundle.codes, weights=bundle.weighed(weights), minlength=bundle.size
            )
            result[bundle.places] = bundle.shared_out(counted)
        return result

    def gram(self, weights: FloatArray, prior: FloatArray | None = None) -> Precision:
        """``X' diag(weights) X``, (P, P), with a (P,) diagonal added to it."""
        apart, *others = self.bundles
        starts = np.concatenate([[0], np.cumsum([each.places.size for each in others])])
        positions = np.concatenate([[], *(each.places for each in others)]).astype(np.intp)
        rest = np.zeros((positions.size, positions.size))
        borders = []
        for one, bundle in enumerate(others):
            here = slice(starts[one], starts[one + 1])
            if bundle.shares is None:
                at = np.arange(here.start, here.stop)
                rest[at, at] = _own(bundle, weights)
            else:
                rest[here, here] = _own_block(bundle, weights)
            borders.append(self._block(0, one + 1, weights))
            for other in range(one + 1, len(others)):
                there = slice(starts[other], starts[other + 1])
                block = self._block(one + 1, other + 1, weights)
                block = block if isinstance(block, np.ndarray) else block.toarray()
                rest[here, there], rest[there, here] = block, block.T
        diagonal = _own(apart, weights)
        if prior is not None:
            rest.ravel()[:: len(rest) + 1] += prior[positions]
            diagonal = diagonal + prior[apart.places]
        start = int(apart.places[0])
        return Precision(
            slice(start, start + apart.places.size),
            positions,
            diagonal,
            _beside(borders, apart.places.size, positions.size),
            rest,
            self.many,
        )

    def _block(self, one: int, other: int, weights: FloatArray) -> Matrix:
        """Block of two bundles' coefficients."""
        first, second = self.bundles[one], self.bundles[other]
        weighed = second.weighed(first.weighed(weights))
        if (one, other) in self.occurring:
            sparse = self.occurring[one, other].table(weighed)
            if second.shares is not None:
                sparse = sparse @ second.shares.T
            elif second.places.size < second.size:
                sparse = sparse[:, : second.places.size]
            if first.shares is not None:
                return first.shares @ sparse
            return sparse[: first.places.size] if first.places.size < first.size else sparse
        joint = self.joint.get((one, other))
        table = np.bincount(
            _joint(first, second) if joint is None else joint,
            weights=weighed,
            minlength=first.size * second.size,
        ).reshape(first.size, second.size)
        return second.shared_out(first.shared_out(table).T).T


def _joint(one: Bundle, other: Bundle) -> IntArray:
    joint = one.codes.astype(np.intp)
    joint *= other.size
    joint += other.codes
    return joint


def _own(bundle: Bundle, weights: FloatArray) -> FloatArray:
    """Diagonal of the block of a bundle of one term."""
    weighed = bundle.weighed(bundle.weighed(weights))
    counted = np.bincount(bundle.codes, weights=weighed, minlength=bundle.size)
    return np.asarray(counted[: bundle.places.size], dtype=float)


def _own_block(bundle: Bundle, weights: FloatArray) -> FloatArray:
    assert bundle.shares is not None
    counted = np.bincount(bundle.codes, weights=weights, minlength=bundle.size)
    return np.asarray((bundle.shares.multiply(counted).tocsr() @ bundle.shares.T).toarray())


def _beside(blocks: list[Matrix], height: int, width: int) -> Matrix:
    """Blocks side by side, (q, r): sparse where that many zeros would be kept."""
    if height * width > DENSE_BORDER:
        return hstack([csr_array(block) for block in blocks], format="csr")
    whole = np.empty((height, width))
    start = 0
    for block in blocks:
        stop = start + block.shape[1]
        whole[:, start:stop] = block if isinstance(block, np.ndarray) else block.toarray()
        start = stop
    return whole


def _bundled(layout: Layout, rows: Rows) -> tuple[list[Bundle], int]:
    """Sort terms into bundles: the largest, those of many levels, the rest by what they share."""
    counts = np.diff(layout.starts)
    order = np.argsort(-counts, kind="stable")
    values = {id(slope): _values(slope) for slope in rows.slopes if slope is not None}
    alone, small = [int(order[0])], []
    for term in order[1:]:
        slope = rows.slopes[term]
        measured = slope is not None and values[id(slope)] is None
        if counts[term] > MANY_LEVELS or measured or len(counts) < FEWEST_BUNDLED:
            alone.append(int(term))
        else:
            small.append(int(term))
    many = int(sum(counts[term] for term in alone[1:] if counts[term] > MANY_LEVELS))
    bundles = [_single(layout, rows, term) for term in alone]
    for terms, codes in _grouped(layout, rows, small, values):
        bundles.append(_several(layout, rows, terms, codes))
    return bundles, many


def _values(slope: FloatArray) -> IntArray | None:
    """Codes of a measured quantity's values, where those are few."""
    if np.unique(slope[:: max(1, slope.size // 1000)]).size > MOST_VALUES:
        return None
    found, codes = np.unique(slope, return_inverse=True)
    return codes if found.size <= MOST_VALUES else None


def _single(layout: Layout, rows: Rows, term: int) -> Bundle:
    places = np.arange(layout.starts[term], layout.starts[term + 1])
    codes = rows.codes[term].astype(np.int32)
    size = int(max(places.size, codes.max(initial=0) + 1))
    return Bundle(codes, size, places, None, rows.slopes[term])


def _several(layout: Layout, rows: Rows, terms: list[int], codes: Codes) -> Bundle:
    """A bundle with what its joint codes give to the coefficients of its terms."""
    size = int(codes.max(initial=0)) + 1
    example = np.empty(size, dtype=np.intp)
    example[codes] = np.arange(codes.size)
    places, at, given, shares = [], [], [], []
    start = 0
    for term in terms:
        count = int(layout.starts[term + 1] - layout.starts[term])
        slope = rows.slopes[term]
        own = rows.codes[term][example]
        taken = np.flatnonzero(own < count)
        at.append(own[taken] + start)
        given.append(taken)
        shares.append(np.ones(taken.size) if slope is None else slope[example[taken]])
        places.append(np.arange(layout.starts[term], layout.starts[term + 1]))
        start += count
    matrix = csr_array(
        (np.concatenate(shares), (np.concatenate(at), np.concatenate(given))), shape=(start, size)
    )
    return Bundle(codes, size, np.concatenate(places), matrix, None)


def _grouped(
    layout: Layout, rows: Rows, terms: list[int], values: dict[int, IntArray | None]
) -> list[tuple[list[int], Codes]]:
    """Put each term where it adds fewest joint codes, largest first, tried on some of the rows."""
    size = rows.codes[0].size
    some = slice(None, None, max(1, size // ROWS_LOOKED_AT))
    most = int(np.clip(size // 5, 50, MOST_JOINT_CODES))
    groups: list[tuple[list[int], Codes]] = []
    for term in terms:
        slope = rows.slopes[term]
        own = [(rows.codes[term], int(layout.starts[term + 1] - layout.starts[term]) + 1)]
        coded = None if slope is None else values[id(slope)]
        if coded is not None:
            own.append((coded, MOST_VALUES))
        best, fewest = None, most + 1
        for place, (_, codes) in enumerate(groups):
            found = codes[some]
            for each, levels in own:
                found = _paired(found, each[some], levels)
            if (joint := int(found.max(initial=0)) + 1) < fewest:
                best, fewest = place, joint
        whole = np.zeros(size, dtype=np.int32) if best is None else groups[best][1]
        for each, levels in own:
            whole = _paired(whole, each, levels)
        if best is None or whole.max(initial=0) >= 2 * most:
            start = np.zeros(size, dtype=np.int32)
            for each, levels in own:
                start = _paired(start, each, levels)
            groups.append(([term], start))
        else:
            groups[best] = ([*groups[best][0], term], whole)
    return groups


def _paired(one: Codes, other: IntArray, levels: int) -> Codes:
    """Codes 0, 1, … of the pairs of two codes that occur, (m,)."""
    joint = one.astype(np.intp) * levels + other
    seen = np.zeros((int(one.max(initial=0)) + 1) * levels, dtype=bool)
    seen[joint] = True
    return np.asarray((np.cumsum(seen, dtype=np.int32) - 1)[joint], dtype=np.int32)
