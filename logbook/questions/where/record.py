"""What a book says of its runs, kind by kind: shown, expected and paid, one row a run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np

from logbook.expectation import CodedRuns, Expectation
from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.questions.where.defects import COST
from logbook.vocabulary.defects import DefectKind


@dataclass(frozen=True, slots=True, eq=False)
class KindShown:
    """One kind of defect over the runs.

    Attributes
    ----------
    kind
        The kind, or any of them.
    found
        What each run showed and was to be expected to show.
    paid
        (m,) money that it cost, as far as it was written down.
    paid_known
        (m,) whether the run says what it cost, or cost nothing.
    """

    kind: DefectKind
    found: Expectation
    paid: FloatArray
    paid_known: BoolArray

    @property
    def cost_of_one(self) -> float:
        """What one came to, over all runs; NaN where nobody wrote anything down."""
        counted = float(self.found.observed.sum())
        known = self.paid_known.any() and (self.paid[self.paid_known] > 0).any()
        if self.kind.measure == "pieces" and not known:
            return np.nan
        return float(self.paid.sum()) / counted if counted else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class WhereRecord:
    """All that is asked of the book.

    Attributes
    ----------
    defect
        A kind, ``any`` or ``cost``.
    coded
        The runs up to the last day asked about, with every column that is asked by.
    inside
        (m,) whether a run is one of those asked about; the others only say what to expect.
    kinds
        The kinds; several only for ``cost``.
    labels
        Column → how pages call it.
    columns
        What can be gone through where no column is named.
    since, until
        First and last day asked about.
    """

    defect: str
    coded: CodedRuns
    inside: BoolArray
    kinds: tuple[KindShown, ...]
    labels: Mapping[str, str]
    columns: tuple[str, ...]
    since: date
    until: date

    @property
    def of_money(self) -> bool:
        """Whether money is held against money, all kinds together."""
        return self.defect == COST
