"""What every kernel accepts, and the sentences for what it cannot."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from logbook.errors import KernelError

FloatArray: TypeAlias = NDArray[np.float64]
BoolArray: TypeAlias = NDArray[np.bool_]
Scalar: TypeAlias = float | np.integer[Any] | np.floating[Any]
Values: TypeAlias = NDArray[Any] | Sequence[float]
Numbers: TypeAlias = Scalar | Values


def as_floats(values: Numbers, name: str) -> FloatArray:
    """Return ``values`` as 64-bit floats.

    Floats also keep products of large counts from overflowing narrow integers.

    Raises
    ------
    KernelError
        If ``values`` are not numbers.
    """
    try:
        return np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise KernelError(
            f"{name} must be numbers; got {values!r}.", "Pass a number or an array of numbers."
        ) from error


def non_negative(values: Numbers, name: str) -> FloatArray:
    """Return ``values`` as floats, all finite and at least 0.

    Raises
    ------
    KernelError
        If one is negative, infinite or NaN.
    """
    array = as_floats(values, name)
    if not np.isfinite(array).all():
        raise KernelError(
            f"{name} must be finite; {_first(array, ~np.isfinite(array))}.",
            "Leave out what was not recorded.",
        )
    if (array < 0).any():
        raise KernelError(
            f"{name} must not be negative; {_first(array, array < 0)}.", "Check the count."
        )
    return array


def count_and_exposure(
    count: Numbers, exposure: Numbers, *, names: tuple[str, str], bounded: bool
) -> tuple[FloatArray, FloatArray]:
    """Return a count and what it was counted in, checked and broadcast together.

    Parameters
    ----------
    count, exposure
        Anything that broadcasts.
    names
        How the two are called in messages.
    bounded
        Whether each unit of exposure can be counted once at most (pieces), so that a count
        above its exposure cannot be true.

    Raises
    ------
    KernelError
        If a value is negative or not finite, if the shapes do not fit, if a bounded count
        exceeds its exposure, or if anything was counted where nothing was exposed.
    """
    counts, exposures = same_shape(
        {names[0]: non_negative(count, names[0]), names[1]: non_negative(exposure, names[1])}
    )
    impossible = counts > exposures if bounded else (counts > 0) & (exposures == 0)
    if impossible.any():
        where = tuple(int(index[0]) for index in np.nonzero(np.atleast_1d(impossible)))
        found = np.atleast_1d(counts)[where], np.atleast_1d(exposures)[where]
        raise KernelError(
            f"{names[0]} cannot exceed {names[1]}; got {found[0]:g} in {found[1]:g}"
            f"{_place(where, impossible)}.",
            "Check that the two were not swapped.",
        )
    return counts, exposures


def same_shape(arrays: dict[str, FloatArray]) -> tuple[FloatArray, ...]:
    """Broadcast named arrays together.

    Raises
    ------
    KernelError
        If their shapes do not fit.
    """
    try:
        return tuple(np.broadcast_arrays(*arrays.values()))
    except ValueError as error:
        shapes = ", ".join(f"{name} {array.shape}" for name, array in arrays.items())
        raise KernelError(
            f"The arrays do not fit together: {shapes}.", "Pass arrays of one length."
        ) from error


def line_of_points(array: FloatArray, name: str) -> FloatArray:
    """Return ``array`` as one dimension; a single number becomes one point.

    Raises
    ------
    KernelError
        If it has more than one dimension.
    """
    if array.ndim > 1:
        raise KernelError(
            f"{name} must be one line of points; got an array of shape {array.shape}.",
            "Pass one value a point.",
        )
    return np.atleast_1d(array)


def fraction(value: float, name: str) -> float:
    """Return ``value`` if it lies strictly between 0 and 1.

    Raises
    ------
    KernelError
        If it does not.
    """
    if not 0 < value < 1:
        raise KernelError(
            f"{name} must lie between 0 and 1; got {value!r}.", "95 % is written 0.95."
        )
    return float(value)


def two_sided_quantile(level: float) -> float:
    """Return the standard normal quantile of a two-sided interval: 1.96 for 0.95.

    Raises
    ------
    KernelError
        If ``level`` does not lie strictly between 0 and 1.
    """
    return float(-ndtri((1 - fraction(level, "level")) / 2))


def plain(array: FloatArray) -> float | FloatArray:
    """Return a plain float for a single number, an array as it is."""
    return float(array) if array.ndim == 0 else array


def _first(array: FloatArray, wrong: BoolArray) -> str:
    where = tuple(int(index[0]) for index in np.nonzero(np.atleast_1d(wrong)))
    return f"got {np.atleast_1d(array)[where]:g}{_place(where, wrong)}"


def _place(where: tuple[int, ...], array: BoolArray) -> str:
    if array.ndim == 0:
        return ""
    return f" at index {where[0] if len(where) == 1 else where}"
