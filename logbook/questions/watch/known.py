"""Which departures are known: somebody said so, or an action stands against them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np

from logbook.kernels.setup_model.setups import IntArray
from logbook.questions.watch.data import WatchData
from logbook.questions.watch.levels import Level
from logbook.questions.watch.panels import Record
from logbook.questions.watch.result import Grade, KnownAs
from logbook.runs.actions import DecidedAction
from logbook.runs.known_findings import Direction, KnownFinding, Value, finding_ref


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """A departure that is known, with the level that it is about.

    Attributes
    ----------
    until
        The last day on which it is: the one on which its action was done or dropped. What comes
        after is looked at again.
    """

    kind: str
    direction: Direction
    level: Level
    since: str
    grade: Grade
    recurrence_weeks: float
    known_as: KnownAs
    until: date | None = None

    @property
    def ref(self) -> str:
        """As of a finding."""
        return finding_ref(self.kind, self.direction, self.level.values)

    def taken_in(self, record: Record) -> tuple[IntArray, int]:
        """Places among the recent runs that are known of, and the kind's."""
        runs = record.coded.runs[record.recent]
        own = self.level.holds(runs)
        if self.until is not None:
            own &= (runs["day"] <= self.until).to_numpy()
        return np.flatnonzero(own), [each.name for each in record.kinds].index(self.kind)


def known_in(record: Record, data: WatchData) -> tuple[Known, ...]:
    """Say what is known; what the record does not hold any more is left out."""
    kinds = {each.name for each in record.kinds}
    found = (_known(record, each, data) for each in data.known if each.kind in kinds)
    return tuple(each for each in found if each is not None)


def _known(record: Record, said: KnownFinding, data: WatchData) -> Known | None:
    action = None if said.action is None else data.actions.get(said.action)
    level = _level(record, said.level)
    if level is None:
        return None
    ended = None if action is None else action.ended_on
    return Known(
        said.kind,
        said.direction,
        level,
        said.since,
        "found" if said.grade == "found" else "suspected",
        float("nan") if said.recurrence_weeks is None else said.recurrence_weeks,
        _known_as(said, action),
        ended if ended is not None and ended <= data.until else None,
    )


def _known_as(said: KnownFinding, action: DecidedAction | None) -> KnownAs:
    if action is None:
        return KnownAs("said", said.why, said.by, said.said)
    return KnownAs("action", action.what, action.by, action.decided)


def _level(record: Record, values: Mapping[str, Value]) -> Level | None:
    runs = record.coded.runs
    if any(name not in runs.columns for name in values):
        return None
    by_job = any(dict(each.values) == dict(values) for each in record.levels[1])
    level = Level(values, np.array([], dtype=np.intp), 1.0, by_job)
    return level if level.holds(runs).any() else None
