"""The record set out for the scan: what each run showed, and what it was to be expected to show."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from logbook.costing import KindCost
from logbook.expectation import LOT, CodedRuns, Expectation, coded_runs, counted, expected
from logbook.kernels.arguments import FloatArray
from logbook.kernels.scan import search
from logbook.kernels.setup_model.setups import IntArray
from logbook.kernels.successive_scan import Panel
from logbook.kernels.usual_variation import SharedLuck
from logbook.questions.watch.data import WatchData
from logbook.questions.watch.levels import COLUMNS, Level, levels_of
from logbook.vocabulary.defects import DefectKind

WINDOWS = (1, 2, 3, 4, 6, 8)
FEWEST_WEEKS = 6
"""With a shorter record nothing can be told from its beginnings."""
FEWEST_LEARNT = 5
"""Pieces that show a kind, or events, before which nothing is to be expected of it."""
_DOUBT_TOLD = 0.01
"""Variance of a term's levels, on average, below which its doubt moves no finding."""
_LONG_RECORD, _DRAWS, _FEWER_DRAWS = 40_000, 199, 79


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """The record of a day, kind by kind.

    Attributes
    ----------
    coded, weeks_ago
        The runs, and how many whole weeks before the last day each finished.
    kinds
        Kinds of which enough was counted.
    by_setup, by_job
        What was expected of every run with its setup allowed for, and of such jobs whatever their
        setup; one a kind.
    recent
        Places of the runs of the last weeks, the longest window.
    levels
        Of the two panels.
    windows
        Weeks.
    """

    coded: CodedRuns
    weeks_ago: IntArray
    kinds: tuple[DefectKind, ...]
    by_setup: tuple[Expectation, ...]
    by_job: tuple[Expectation, ...]
    recent: IntArray
    levels: tuple[tuple[Level, ...], tuple[Level, ...]]
    windows: tuple[int, ...]

    def expectations(self, panel: int) -> tuple[Expectation, ...]:
        """Of the panel: 0 with setups allowed for, 1 by job."""
        return self.by_job if panel else self.by_setup

    @property
    def draws(self) -> int:
        """Made-up presents; fewer of a long record, whose luck evens out."""
        return _DRAWS if self.recent.size < _LONG_RECORD / 5 else _FEWER_DRAWS


def record_of(data: WatchData, kinds: Sequence[DefectKind]) -> Record | None:
    """Set out the record; None where it is too short to tell anything."""
    weeks_ago = _weeks_ago(data.runs["day"].to_list(), data.until)
    weeks = int(weeks_ago.max(initial=-1)) + 1
    if weeks < FEWEST_WEEKS:
        return None
    longest = min(max(WINDOWS), weeks // 3)
    # What may be the trouble is not learnt from.
    learn = weeks_ago >= longest
    recent = np.flatnonzero(~learn)
    if not learn.any() or recent.size == 0:
        return None
    coded = coded_runs(data.runs, also=COLUMNS)
    counts = {each: counted(coded, data.cells, each.name) for each in kinds}
    told = [each for each in kinds if counts[each][0][learn].sum() >= FEWEST_LEARNT]
    found = levels_of(data.runs, weeks_ago=weeks_ago, recent=recent)
    return Record(
        coded=coded,
        weeks_ago=weeks_ago,
        kinds=tuple(told),
        by_setup=tuple(expected(coded, *counts[each], learn=learn) for each in told),
        by_job=tuple(
            expected(coded, *counts[each], learn=learn, setup_excused=False) for each in told
        ),
        recent=recent,
        levels=(
            tuple(each for each in found if not each.by_job),
            tuple(each for each in found if each.by_job),
        ),
        windows=tuple(each for each in WINDOWS if each <= longest),
    )


def panels_of(record: Record, costs: Mapping[str, KindCost]) -> tuple[Panel, ...]:
    """Set out both panels for the scan; a panel without levels is left out.

    Half of the search goes by what the kinds cost, half is shared out alike.
    """
    shares = np.array([_share(costs.get(each.name)) for each in record.kinds])
    weight = 0.5 / shares.size + 0.5 * shares / max(float(shares.sum()), 1e-9)
    return tuple(_panel(record, number, weight) for number in (0, 1) if record.levels[number])


def _share(cost: KindCost | None) -> float:
    return 0.0 if cost is None or math.isnan(cost.share_of_cost) else cost.share_of_cost


def _panel(record: Record, number: int, kind_weight: FloatArray) -> Panel:
    recent, levels = record.recent, record.levels[number]
    expectations = record.expectations(number)
    weight = np.array([each.weight for each in levels])
    return Panel(
        looked_at=search(
            levels=[each.rows for each in levels],
            steps_ago=record.weeks_ago[recent],
            windows=record.windows,
            weight=weight,
            share=float(weight.sum()),
        ),
        observed=np.column_stack([each.observed[recent] for each in expectations]),
        expected=np.column_stack([each.expected[recent] for each in expectations]),
        run_sd=np.array([each.run_sd for each in expectations]),
        shared=_shared(record, number),
        kind_weight=kind_weight,
    )


def _shared(record: Record, number: int) -> list[SharedLuck]:
    """The doubt about levels; of what a job's expectation does not know, the whole spread."""
    found = []
    for term, codes in record.coded.terms.items():
        variance = np.column_stack(
            [
                _variance(term, mine, whole)
                for mine, whole in zip(record.expectations(number), record.by_setup, strict=True)
            ]
        )
        own = codes[record.recent]
        seen = variance[np.unique(own[own >= 0])]
        renewed = term in (LOT, "design", "backing_supplier x backing")
        if seen.size and (renewed or seen.mean() > _DOUBT_TOLD):
            found.append(SharedLuck(own, variance))
    return found


def _variance(term: str, mine: Expectation, whole: Expectation) -> FloatArray:
    if term in mine.fitted.doubt:
        return mine.fitted.doubt[term]
    size = whole.fitted.doubt[term].size
    spread = whole.fitted.sd[term] if term in (LOT, "backing_supplier x backing") else 0.0
    return np.full(size, spread**2)


def _weeks_ago(days: Sequence[date], until: date) -> IntArray:
    last = until.toordinal()
    ago = np.fromiter((last - day.toordinal() for day in days), dtype=np.intp, count=len(days))
    return ago // 7
