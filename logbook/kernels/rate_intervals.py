"""The interval that fits what was counted: pieces among pieces, or events over stitches."""

from __future__ import annotations

from typing import Any

from logbook.errors import KernelError
from logbook.kernels.arguments import Numbers, as_floats
from logbook.kernels.count_series import Measure
from logbook.kernels.intervals import Interval, proportion, rate


def interval(
    *, count: Numbers, exposure: Numbers, measure: Measure, level: float = 0.95
) -> Interval[Any]:
    """Say how sure a rate is, in the way of its measure.

    Parameters
    ----------
    count, exposure
        Pieces that show it and pieces inspected, or events and what they were counted over;
        numbers or arrays that broadcast.
    measure
        ``"pieces"``: Wilson's interval (:func:`logbook.kernels.intervals.proportion`);
        ``"events"``: Garwood's (:func:`logbook.kernels.intervals.rate`).
    level
        Two-sided confidence level.

    Returns
    -------
    Interval
        Rates per unit of exposure; NaN where there is none.

    Raises
    ------
    KernelError
        If a count cannot be true, or the measure or level is unknown.
    """
    counts, exposures = as_floats(count, "count"), as_floats(exposure, "exposure")
    if measure == "pieces":
        return proportion(count=counts, trials=exposures, level=level)
    if measure == "events":
        return rate(count=counts, exposure=exposures, level=level)
    raise KernelError(f"There is no measure called {measure!r}.", "Use pieces or events.")
