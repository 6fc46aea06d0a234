"""Runs as the codes of what they were sewn with: the terms that a run's expectation is made of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from logbook.errors import AnalysisError
from logbook.kernels.setup_model.setups import NO_LEVEL, IntArray
from logbook.runs.factors import COMPARED

LOT = "lot"
"""A lot within its supplier and backing: two suppliers may use one number."""
SUPPLIER, BACKING = "backing_supplier", "backing"
CROSSED: tuple[tuple[str, str], ...] = (
    ("fabric", BACKING),
    ("fabric", "topping"),
    (SUPPLIER, BACKING),
)
"""Two columns whose levels have an effect together."""

SETUP_COLUMNS = frozenset(each.column for each in COMPARED if each.role == "setup")
"""What is chosen for a job, unlike what the job brings and who sews it where."""
_MAIN = tuple(each.column for each in COMPARED)
_OWN = ("design", "backing_lot")
RUNS_BY: tuple[str, ...] = ("run_ref", *dict.fromkeys((*_MAIN, *_OWN)))
"""What :meth:`logbook.store.Store.totals` is grouped by for the runs."""


@dataclass(frozen=True, slots=True, eq=False)
class CodedRuns:
    """Runs with the codes of their levels.

    Attributes
    ----------
    runs
        One row a run, as handed in.
    terms
        Term → (m,) code of each run's level; what was not recorded is a level of its own.
    columns
        Term → the columns that it is made of.
    """

    runs: pl.DataFrame
    terms: Mapping[str, IntArray]
    columns: Mapping[str, frozenset[str]]

    def made_of(self, columns: Sequence[str]) -> tuple[str, ...]:
        """Terms that any of the columns is part of."""
        return tuple(name for name, its in self.columns.items() if its & set(columns))


def coded_runs(runs: pl.DataFrame, *, also: Sequence[str] = ()) -> CodedRuns:
    """Code the runs of a record.

    Parameters
    ----------
    runs
        One row a run, with the columns of :data:`RUNS_BY` and any more.
    also
        Further columns that have an effect of their own, such as a customer's.

    Raises
    ------
    AnalysisError
        The frame lacks a column.
    """
    if missing := [name for name in RUNS_BY if name not in runs.columns]:
        raise AnalysisError(f"What to expect of runs cannot be said: they lack {missing[0]!r}.")
    named = dict.fromkeys((*_MAIN, "design", *(name for name in also if name != "backing_lot")))
    main = {name: coded(runs[name]) for name in named}
    lots = crossed(main[SUPPLIER], main[BACKING], coded(runs["backing_lot"]))
    bare = (runs[BACKING] == "none").fill_null(False).to_numpy()
    terms = main | {" x ".join(pair): crossed(*(main[one] for one in pair)) for pair in CROSSED}
    terms[LOT] = np.where(bare, NO_LEVEL, lots)
    columns = {name: frozenset({name}) for name in main}
    columns |= {" x ".join(pair): frozenset(pair) for pair in CROSSED}
    columns[LOT] = frozenset({SUPPLIER, BACKING, "backing_lot"})
    varying = (
        {name: codes for name, codes in terms.items() if np.ptp(codes) > 0} if len(runs) else {}
    )
    return CodedRuns(runs, varying, {name: columns[name] for name in varying})


def coded(words: pl.Series) -> IntArray:
    """Codes from 0 in order of the words, the last for what was not recorded."""
    texts = words.cast(pl.String)
    there = texts.drop_nulls().unique().sort()
    codes = texts.cast(pl.Enum(there)).to_physical().cast(pl.Int64).fill_null(len(there))
    return codes.to_numpy().astype(np.intp)


def crossed(*codes: IntArray) -> IntArray:
    """One code for each combination that occurs."""
    together = codes[0]
    for each in codes[1:]:
        together = together * (int(each.max(initial=0)) + 1) + each
    return np.unique(together, return_inverse=True)[1].astype(np.intp)
