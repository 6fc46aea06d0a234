"""What the watch rests on: runs, their counts, and what is known already."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import polars as pl

from logbook.runs.actions import DecidedAction
from logbook.runs.known_findings import KnownFinding


@dataclass(frozen=True, slots=True, eq=False)
class WatchData:
    """The record up to a day.

    Attributes
    ----------
    runs
        One row a run: ``day``, what it was sewn with.
    cells
        Counts by kind and run.
    until
        The last day that counts.
    known, actions
        What was said to be known by then, and the actions by their references.
    """

    runs: pl.DataFrame
    cells: pl.DataFrame
    until: date
    known: tuple[KnownFinding, ...]
    actions: Mapping[str, DecidedAction]
