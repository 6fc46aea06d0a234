"""What was to be expected of levels whose own effect, and what lies within them, is no excuse."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from logbook.expectation.coding import CodedRuns
from logbook.expectation.expecting import Expectation
from logbook.kernels.arguments import FloatArray
from logbook.kernels.setup_model.setups import NO_LEVEL, IntArray
from logbook.runs.factors import FACTORS

_ROOM = 4
"""Places for codes, of each value, up to which sums are taken without sorting."""
LIES_WITHIN = 0.98
"""A term lies within levels where each of its own is sewn in one of them so nearly always."""
_BROUGHT_ALONG = {
    "design": ("density_band",),
    "design_version": ("design", "density_band"),
    "backing_lot": ("backing_supplier",),
}
"""What a column's levels bring with them, which is theirs to answer for: a file has its density.

A supplier's backing is known by few lots, so that each would be its own excuse.
"""


def answered_for(coded: CodedRuns, columns: Sequence[str], levels: IntArray) -> tuple[str, ...]:
    """Terms that are no excuse when levels of columns are compared.

    Parameters
    ----------
    coded
        The runs.
    columns
        What is compared by.
    levels
        (m,) the level of each run.

    Returns
    -------
    tuple of str
        Terms that the columns are part of, and those that lie within the levels: a customer's
        designs, a site's machines.
    """
    named = {more for column in columns for more in (column, *_BROUGHT_ALONG.get(column, ()))}
    bands = {each.of.band for each in FACTORS if each.column in named and each.of.band}
    own = set(coded.made_of([*named, *bands]))
    many = np.unique(levels).size
    if many > 1:
        own |= {
            name
            for name, codes in coded.terms.items()
            if name not in own and _lies_within(codes, levels, many)
        }
    return tuple(name for name in coded.terms if name in own)


def _lies_within(codes: IntArray, levels: IntArray, many: int) -> bool:
    if int(codes.max(initial=NO_LEVEL)) < many:
        return False
    there = codes != NO_LEVEL
    wide = int(levels.max()) + 1
    room = (int(codes.max()) + 1) * wide
    pairs, runs = _summed(codes[there] * wide + levels[there], np.ones(int(there.sum())), room)
    pairs, runs = pairs[runs > 0], runs[runs > 0]
    starts = np.flatnonzero(np.diff(pairs // wide, prepend=-1))
    return bool(np.maximum.reduceat(runs, starts).sum() >= LIES_WITHIN * there.sum())


def expected_without(coded: CodedRuns, found: Expectation, terms: Sequence[str]) -> FloatArray:
    """(m,) counts to be expected with some terms at their average, as if fitted so."""
    ratio = np.zeros(found.expected.size)
    for name in terms:
        told = found.fitted.effects[name] + found.fitted.doubt[name] / 2
        ratio += np.append(told, 0.0)[coded.terms[name]]
    expected = found.expected * np.exp(-ratio)
    whole = float(expected.sum())
    return expected * (float(found.observed.sum()) / whole) if whole > 0 else expected


def doubt_of_terms(
    coded: CodedRuns, found: Expectation, levels: IntArray, *, without: Sequence[str]
) -> dict[str, FloatArray]:
    """Variance of each level of each term that is an excuse, where other levels are compared.

    A supplier's backing that came in three lots is known no better than the mean of three: what
    the levels compared truly differ by is part of what was learnt of all that they lie within.

    Parameters
    ----------
    coded, found
        The runs, and the fit.
    levels
        (m,) the level of each run.
    without
        Terms that are no excuse: how widely their levels vary is how widely those compared do.
    """
    between = max((found.fitted.sd[name] ** 2 for name in without), default=0.0)
    doubt = {}
    for name, codes in coded.terms.items():
        if name in without:
            continue
        own, variance = found.fitted.doubt[name], found.fitted.sd[name] ** 2
        room = own.size + 1
        pairs, sums = _summed(
            levels * room + codes % room, found.expected, (int(levels.max()) + 1) * room
        )
        squares = np.bincount(pairs % room, sums**2, room)[:-1]
        whole = np.bincount(codes % room, found.expected, room)[:-1]
        shared = between * np.divide(squares, whole**2, out=np.ones_like(whole), where=whole > 0)
        # What the record alone says of a level, its term's spread apart.
        told = 1.0 / np.maximum(1.0 / own - 1.0 / variance, 1e-12)
        doubt[name] = 1.0 / (1.0 / (told + shared) + 1.0 / variance)
    return doubt


def doubt_of_levels(
    terms: Mapping[str, IntArray],
    doubt_of: Mapping[str, FloatArray],
    expected: FloatArray,
    levels: IntArray,
) -> FloatArray:
    """(L,) variance of what was expected of each level, relative to its square.

    Against the whole, which was expected to show what it showed: a level sewn on one design alone
    is known as well as that design is.

    Parameters
    ----------
    terms
        (n,) codes of the runs asked about, of each term.
    doubt_of
        Term → variance of each of its levels (:func:`doubt_of_terms`).
    expected
        (n,) counts that were expected of them.
    levels
        (n,) the level of each, from 0.
    """
    many = int(levels.max(initial=-1)) + 1
    total = np.bincount(levels, expected, many)
    safe = np.where(total > 0, total, 1.0)
    doubt = np.zeros(many)
    for name, each in doubt_of.items():
        own, codes = np.append(each, 0.0), terms[name]
        usual = np.bincount(codes % own.size, expected, own.size) / max(float(total.sum()), 1e-300)
        pairs, sums = _summed(levels * own.size + codes % own.size, expected, many * own.size)
        level, code = pairs // own.size, pairs % own.size
        share = sums / safe[level]
        # What all levels share is no doubt of one of them: (share - usual)^2, and usual^2 where a
        # level has none.
        apart = share**2 - 2 * share * usual[code]
        doubt += np.bincount(level, apart * own[code], many) + float((usual**2 * own).sum())
    return np.asarray(np.where(total > 0, np.maximum(doubt, 0.0), 0.0))


def _summed(codes: IntArray, values: FloatArray, room: int) -> tuple[IntArray, FloatArray]:
    """Codes that occur, and the sum of the values of each."""
    if room <= _ROOM * codes.size:
        return np.arange(room), np.bincount(codes, values, room).astype(np.float64)
    there, at = np.unique(codes, return_inverse=True)
    return there.astype(np.intp), np.bincount(at, values).astype(np.float64)
