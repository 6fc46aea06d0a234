"""What a verdict may be undone by, in words: late changes, and work that nobody wrote down."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from logbook.adjusted_comparison import AdjustedSupplier
from logbook.adjusted_comparison.unseen import SURE
from logbook.questions.suppliers.words.phrases import listed
from logbook.wording import number, percent

if TYPE_CHECKING:
    from logbook.questions.suppliers.result import SupplierRow, SuppliersResult

FAIR_TRIAL = "A fair trial would tell: plan one on the page Trials."
_WOULD_BE = {"better": "better", "worse": "worse", "no_worse": "no worse"}


def changed(result: SuppliersResult) -> tuple[str, ...]:
    """Say who has changed in the last weeks."""
    changes = {each.supplier: each for row in result.suppliers for each in row.adjusted.lately}
    return tuple(
        f"{each.supplier} has been {'worse' if each.worse else 'better'} since "
        f"{each.since.day} {each.since:%B %Y}: {_times(each.ratio)} as frequent as before, "
        f"all else allowed for, in {number(each.runs)} runs. Its figures here are of those weeks: "
        "the next lots are likelier to be like them."
        for each in changes.values()
    )


def withheld(result: SuppliersResult) -> tuple[str, ...]:
    """Say whose verdict is held back, and why."""
    return tuple(_withheld(result, row) for row in result.suppliers if row.adjusted.withheld)


def _withheld(result: SuppliersResult, row: SupplierRow) -> str:
    unseen, reference = row.adjusted.unseen, result.reference
    said = _WOULD_BE.get(str(row.adjusted.withheld), "")
    head = f"{row.supplier} would count as {said} {'as' if not said else 'than'} {reference}, but"
    if unseen is None:
        return f"{head} something unseen may be behind it. {FAIR_TRIAL}"
    if math.isfinite(unseen.control_ratio):
        lower, upper = unseen.control_interval
        return (
            f"{head} kinds that no backing causes are {_times(unseen.control_ratio)} as frequent "
            f"on it too ({percent(SURE, 0)} interval {lower:.1f} to {upper:.1f} times): its jobs "
            f"differ in something that nobody writes down. {FAIR_TRIAL}"
        )
    return (
        f"{head} by all that is recorded its jobs alone make the defect {_times(unseen.work)} as "
        f"frequent, and a difference as strong that nobody writes down would undo it. {FAIR_TRIAL}"
    )


def strengths(result: SuppliersResult) -> list[str]:
    """Say how strong something unseen would have to be to undo the verdicts that stand."""
    told = [row for row in result.suppliers if _clear(row.adjusted)]
    if not told:
        return []
    each = [
        f"{row.supplier} {row.adjusted.unseen.e_value_of_interval:.1f}"
        for row in told
        if row.adjusted.unseen is not None
    ]
    return [
        "Something unseen could undo a verdict only if it went with the supplier, and with the "
        f"defect, at least so many times: {listed(each)} (E-value)."
    ]


def _clear(adjusted: AdjustedSupplier) -> bool:
    return adjusted.verdict in ("better", "worse") and adjusted.unseen is not None


def _times(ratio: float) -> str:
    return f"{ratio:.1f} times" if ratio < 10 else f"{ratio:.0f} times"
