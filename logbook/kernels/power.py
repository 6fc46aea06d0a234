"""How many pieces a fair trial of two arms needs, and what a given number can show."""

from __future__ import annotations

from typing import Literal, TypeAlias, overload

import numpy as np
from scipy.special import ndtr, ndtri

from logbook.errors import KernelError
from logbook.kernels.arguments import (
    FloatArray,
    Numbers,
    Scalar,
    Values,
    as_floats,
    fraction,
    non_negative,
    plain,
    same_shape,
)

Sides: TypeAlias = Literal[1, 2]


@overload
def pieces_per_arm(
    *,
    rate_a: Scalar,
    rate_b: Scalar,
    alpha: float = ...,
    power: float = ...,
    sides: Sides = ...,
    ratio: float = ...,
) -> float: ...


@overload
def pieces_per_arm(
    *,
    rate_a: Values,
    rate_b: Values,
    alpha: float = ...,
    power: float = ...,
    sides: Sides = ...,
    ratio: float = ...,
) -> FloatArray: ...


def pieces_per_arm(
    *,
    rate_a: Numbers,
    rate_b: Numbers,
    alpha: float = 0.05,
    power: float = 0.8,
    sides: Sides = 2,
    ratio: float = 1.0,
) -> float | FloatArray:
    """Say how many pieces in arm a tell two defect rates apart.

    Parameters
    ----------
    rate_a, rate_b
        The two rates as fractions; numbers or arrays that broadcast.
    alpha
        Chance accepted of seeing a difference where there is none.
    power
        Chance wanted of seeing this difference where there is one.
    sides
        2 to look for a difference either way, 1 for one way only.
    ratio
        Pieces in arm b for each piece in arm a.

    Returns
    -------
    float or ndarray
        Pieces in arm a, not rounded: round up, after multiplying by the design effect where
        pieces come in runs or lots, which is the caller's to know. Infinite where the rates
        are equal.

    Raises
    ------
    KernelError
        If a rate lies outside 0 to 1, alpha or power outside their range, or the ratio is
        not positive.

    Notes
    -----
    Fleiss, Levin & Paik (2003), Statistical Methods for Rates and Proportions 3rd ed., ch. 4,
    without continuity correction: pooled variance under no difference, separate variances
    under the difference, the far tail ignored. The normal approximation is rough where fewer
    than about five defective pieces are expected in an arm.
    """
    a, b, null_sd, true_sd = _design(rate_a, rate_b, ratio)
    z_alpha = _critical(alpha, sides)
    if not alpha / sides < power < 1:
        raise KernelError(
            f"The power must lie between alpha / sides and 1; got {power!r}.",
            "80 % is written 0.8.",
        )
    # Below zero only for a power that even no pieces would exceed in this approximation.
    reach = np.maximum(z_alpha * null_sd + float(ndtri(power)) * true_sd, 0.0)
    apart = np.abs(a - b)
    pieces = np.where(apart > 0, (reach / np.where(apart > 0, apart, 1.0)) ** 2, np.inf)
    return plain(pieces)


@overload
def power_of(
    *,
    rate_a: Scalar,
    rate_b: Scalar,
    pieces_per_arm: Scalar,
    alpha: float = ...,
    sides: Sides = ...,
    ratio: float = ...,
) -> float: ...


@overload
def power_of(
    *,
    rate_a: Values,
    rate_b: Values,
    pieces_per_arm: Values,
    alpha: float = ...,
    sides: Sides = ...,
    ratio: float = ...,
) -> FloatArray: ...


def power_of(
    *,
    rate_a: Numbers,
    rate_b: Numbers,
    pieces_per_arm: Numbers,
    alpha: float = 0.05,
    sides: Sides = 2,
    ratio: float = 1.0,
) -> float | FloatArray:
    """Say how likely a trial of given size is to see a given difference of defect rates.

    Parameters
    ----------
    rate_a, rate_b, alpha, sides, ratio
        As in :func:`pieces_per_arm`.
    pieces_per_arm
        Pieces in arm a, divided by the design effect where pieces come in runs or lots.

    Returns
    -------
    float or ndarray
        Power between 0 and 1; alpha / sides where the rates are equal.

    Raises
    ------
    KernelError
        As in :func:`pieces_per_arm`, or if a number of pieces is negative or not finite.

    Notes
    -----
    The inverse of :func:`pieces_per_arm`: the same approximation.
    """
    pieces = non_negative(pieces_per_arm, "pieces_per_arm")
    a, b, null_sd, true_sd = _design(rate_a, rate_b, ratio)
    apart, null_sd, true_sd, pieces = same_shape(
        {"rate_a": np.abs(a - b), "rate_b": null_sd, "ratio": true_sd, "pieces_per_arm": pieces}
    )
    margin = apart * np.sqrt(pieces) - _critical(alpha, sides) * null_sd
    some_spread = true_sd > 0
    score = margin / np.where(some_spread, true_sd, 1.0)
    # Rates of 0 and 1 leave nothing to chance: the test sees the difference, or cannot.
    certain = np.where(null_sd > 0, np.where(margin > 0, np.inf, -np.inf), -np.inf)
    return plain(np.asarray(ndtr(np.where(some_spread, score, certain))))


def _design(
    rate_a: Numbers, rate_b: Numbers, ratio: float
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return both rates and, per square root of a piece, the spread without and with them."""
    a, b = same_shape({"rate_a": _rate(rate_a, "rate_a"), "rate_b": _rate(rate_b, "rate_b")})
    if not 0 < ratio < np.inf:
        raise KernelError(
            f"The ratio must be positive; got {ratio!r}.", "1 gives both arms as many pieces."
        )
    pooled = (a + ratio * b) / (1 + ratio)
    null_sd = np.sqrt((1 + 1 / ratio) * pooled * (1 - pooled))
    true_sd = np.sqrt(a * (1 - a) + b * (1 - b) / ratio)
    return a, b, null_sd, true_sd


def _rate(values: Numbers, name: str) -> FloatArray:
    array = as_floats(values, name)
    if not ((array >= 0) & (array <= 1)).all():
        raise KernelError(
            f"{name} must lie between 0 and 1; got {values!r}.", "2 % is written 0.02."
        )
    return array


def _critical(alpha: float, sides: int) -> float:
    if sides not in (1, 2):
        raise KernelError(f"A test has 1 or 2 sides; got {sides!r}.", "Use 1 or 2.")
    return float(-ndtri(fraction(alpha, "alpha") / sides))
