"""What each run was to be expected to show, so that what departs from it can be told.

Runs and cells in, one row a run out: :func:`coded_runs` codes the runs of a record once, and
:func:`expected` answers for one kind of defect, learnt from the runs that it is let learn from.
"""

from logbook.expectation.coding import LOT, RUNS_BY, CodedRuns, coded_runs
from logbook.expectation.expecting import Expectation, counted, expected
from logbook.expectation.leaving_out import (
    answered_for,
    doubt_of_levels,
    doubt_of_terms,
    expected_without,
)

__all__ = [
    "LOT",
    "RUNS_BY",
    "CodedRuns",
    "Expectation",
    "answered_for",
    "coded_runs",
    "counted",
    "doubt_of_levels",
    "doubt_of_terms",
    "expected",
    "expected_without",
]
