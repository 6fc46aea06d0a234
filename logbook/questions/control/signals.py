"""The signals of a control chart, and what to keep in mind of its limits, in plain words."""

from __future__ import annotations

from typing import Any

import numpy as np
import polars as pl

from logbook.kernels.limits import ControlChart
from logbook.questions.control.result import By, Drawn, periods
from logbook.questions.control.stretches import Direction, Signal
from logbook.vocabulary.defects import DefectKind
from logbook.wording import count_words, rate_only

ENOUGH_POINTS = 20
"""Below about so many points the limits are provisional (Montgomery, Introduction to
Statistical Quality Control: 20 to 25 samples for trial limits)."""

FEW_EXPECTED = 5.0
"""Below so many expected at a point, the normal approximation beneath the limits is rough."""

_LONGER = {"run": "day, week or month", "day": "week or month", "week": "month"}


def signals_of(points: pl.DataFrame, kind: DefectKind, by: By) -> tuple[Signal, ...]:
    """Put every signal of the points into words.

    Parameters
    ----------
    points
        As in :class:`~logbook.questions.control.result.ControlResult`.
    kind, by
        What was counted, and what a point is.

    Returns
    -------
    tuple of Signal
        In order of time.
    """
    found: list[Signal] = []
    in_a_row, last_side = 0, 0.0
    for row in points.iter_rows(named=True):
        side = float(np.sign(row["z"]))
        in_a_row = in_a_row + 1 if side == last_side else 1
        last_side = side
        direction: Direction = "above" if side > 0 else "below"
        found += [
            Signal(row["label"], rule, direction, _says(rule, direction, row, in_a_row, kind, by))
            for rule in row["signals"]
        ]
    return tuple(found)


def _says(
    rule: str, direction: Direction, row: dict[str, Any], in_a_row: int, kind: DefectKind, by: By
) -> str:
    if rule == "beyond_limits":
        bound = row["upper" if direction == "above" else "lower"]
        seen = count_words(kind.measure, row["count"], row["exposure"])
        pattern = (
            f"{seen} ({rate_only(kind.measure, row['rate'])}), {direction} the limit of "
            f"{rate_only(kind.measure, bound)}"
        )
    else:
        pattern = {
            "run_of_8": f"{in_a_row} {by}s in a row {direction} the usual rate",
            "two_of_three": f"two of the last three {by}s far {direction} the usual rate",
            "four_of_five": f"four of the last five {by}s clearly {direction} the usual rate",
        }[rule]
    good = "" if direction == "above" else ": good news, if it was judged as strictly as before"
    return f"{by.capitalize()} {row['label']}: {pattern}{good}."


def notes_of(used: pl.DataFrame, by: By, fit: ControlChart, drawn: Drawn) -> tuple[str, ...]:
    """Say what to keep in mind of the limits.

    Parameters
    ----------
    used
        The points that set the usual rate.
    by
        What a point is.
    fit, drawn
        The chart, and which limits it has.
    """
    notes = []
    if used.height < 2:
        notes.append(f"There is one {by} only, so nothing can be said of the up and down yet.")
    elif used.height < ENOUGH_POINTS:
        notes.append(
            f"The limits rest on {periods(used.height, by)}; under about {ENOUGH_POINTS} they "
            "are provisional."
        )
    expected = float(fit.centre) * float(np.median(used["exposure"].to_numpy()))
    if float(fit.centre) == 0:
        notes.append(
            f"None was seen in the {periods(used.height, by)} that set the usual rate, so the "
            "limits have no width: the first one passes them."
        )
    elif expected < FEW_EXPECTED:
        longer = f" Look by {_LONGER[by]} as well." if by in _LONGER else ""
        notes.append(
            f"In a usual {by} only {expected:.2g} of these are expected, so that a few more can "
            f"pass the upper limit by luck.{longer}"
        )
    if drawn == "laney" and float(fit.sigma_z) < 1:
        notes.append("The limits asked for are narrower than counting alone would make them.")
    return tuple(notes)
