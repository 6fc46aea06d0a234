"""Many comparisons at once: how many of the findings may be false."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from logbook.errors import KernelError
from logbook.kernels.arguments import BoolArray, FloatArray, Numbers, as_floats, line_of_points


def false_discovery(*, p_values: Numbers) -> FloatArray:
    """Return q-values: the share of false findings accepted by calling this one a finding.

    Parameters
    ----------
    p_values
        (m,) p-values. NaN (not tested) stays NaN and does not count among the m.

    Returns
    -------
    ndarray
        (m,) the smallest false discovery rate at which each would be found, in the order
        given; found at rate q where the q-value is at most q.

    Raises
    ------
    KernelError
        If a p-value lies outside 0 to 1.

    Notes
    -----
    Benjamini & Hochberg (1995), J R Stat Soc B 57:289-300, in adjusted form.
    """
    p, tested = _tested(p_values)
    q = np.full(p.size, np.nan)
    q[tested] = _benjamini_hochberg(p[tested])
    return q


def holm(*, p_values: Numbers) -> FloatArray:
    """Return p-values adjusted so that any false finding at all stays this unlikely.

    Parameters
    ----------
    p_values
        (m,) p-values; NaN as in :func:`false_discovery`.

    Returns
    -------
    ndarray
        (m,) adjusted p-values in the order given.

    Raises
    ------
    KernelError
        If a p-value lies outside 0 to 1.

    Notes
    -----
    Holm (1979), Scandinavian Journal of Statistics 6:65-70.
    """
    p, tested = _tested(p_values)
    adjusted = np.full(p.size, np.nan)
    ordered, order = np.sort(p[tested]), np.argsort(p[tested])
    stepped = np.maximum.accumulate(ordered * np.arange(ordered.size, 0, -1))
    inside = np.empty(ordered.size)
    inside[order] = np.minimum(stepped, 1.0)
    adjusted[tested] = inside
    return adjusted


def false_discovery_by_family(*, p_values: Numbers, family: NDArray[Any]) -> FloatArray:
    """Return q-values on two levels: first the families that hold anything, then within them.

    Parameters
    ----------
    p_values
        (m,) p-values; NaN (not tested) stays NaN and counts nowhere.
    family
        (m,) labels; tests of one label are one family (for instance one defect kind and one
        setup factor).

    Returns
    -------
    ndarray
        (m,) the smallest rate q at which each would be found.

    Raises
    ------
    KernelError
        If a p-value lies outside 0 to 1 or the lengths differ.

    Notes
    -----
    Benjamini & Bogomolov (2014), J R Stat Soc B 76:297-318. At rate q the families found by
    Benjamini-Hochberg on their Simes p-values are opened, R of F, and Benjamini-Hochberg at
    q R / F runs inside each, which holds the expected average share of false findings over
    opened families at q. R grows with q, so each test has a smallest q that finds it: the
    least, over k = 1 .. F, of what opens k families, opens its own, and passes it at k / F.
    """
    p, tested = _tested(p_values)
    labels = np.asarray(family)
    if labels.shape != p.shape:
        raise KernelError(
            f"There are {p.size} p-values but {labels.size} family labels.",
            "Give one label for each p-value.",
        )
    q = np.full(p.size, np.nan)
    if not tested.any():
        return q
    names, member_of = np.unique(labels[tested], return_inverse=True)
    within, opened_at = np.empty(member_of.size), np.empty(names.size)
    for index in range(names.size):
        members = member_of == index
        within[members] = _benjamini_hochberg(p[tested][members])
        opened_at[index] = within[members].min()
    q_family = _benjamini_hochberg(opened_at)
    opens_k, k = np.sort(q_family), np.arange(1, names.size + 1)
    needed = np.maximum(opens_k, within[:, np.newaxis] * names.size / k).min(axis=1)
    q[tested] = np.maximum(needed, q_family[member_of])
    return q


def _benjamini_hochberg(p: FloatArray) -> FloatArray:
    order = np.argsort(p)
    # A factor of at least 1, exactly 1 at the last: no q-value rounds to below its p-value.
    scaled = p[order] * (p.size / np.arange(1, p.size + 1))
    q = np.empty(p.size)
    # Monotone from the largest down: whatever finds a p-value finds every smaller one.
    q[order] = np.minimum(np.minimum.accumulate(scaled[::-1])[::-1], 1.0)
    return q


def _tested(p_values: Numbers) -> tuple[FloatArray, BoolArray]:
    p = line_of_points(as_floats(p_values, "p_values"), "p_values")
    tested = ~np.isnan(p)
    if ((p[tested] < 0) | (p[tested] > 1)).any():
        raise KernelError(
            f"p_values must lie between 0 and 1; got {p[tested].min():g} to {p[tested].max():g}.",
            "Leave out, as NaN, what was not tested.",
        )
    return p, tested
