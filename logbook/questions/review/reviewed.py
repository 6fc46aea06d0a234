"""One week's defect review in numbers: what was judged, costed, changed and decided."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from logbook.costing import KindCost, Order
from logbook.questions.control.result import ControlResult
from logbook.questions.costs.result import CostsResult
from logbook.questions.review.actions import Action
from logbook.questions.review.changes import Change
from logbook.questions.review.decided import Decided
from logbook.questions.review.held import HeldRun
from logbook.questions.review.judging import Judged
from logbook.questions.review.losses import Losses
from logbook.questions.review.runs import RunToLookAt
from logbook.questions.watch.result import WatchResult


@dataclass(frozen=True, slots=True, eq=False)
class Defect:
    """One kind in the week: judged beside so many others, and costed (None where it is not)."""

    judged: Judged
    looked_at: int
    cost: KindCost | None

    @property
    def stands_out(self) -> bool:
        """Whether it is more than luck either way, or worth watching."""
        return self.judged.watch or self.judged.verdict in ("more_than_usual", "less_than_usual")

    @property
    def amount(self) -> float | None:
        """What it cost; None where it is not costed, NaN where that cannot be said."""
        return None if self.cost is None else self.cost.cost


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ReviewedWeek:
    """One week's defect review.

    Attributes
    ----------
    week, monday, sunday
        The week.
    runs, pieces_inspected, stitches_sewn
        How much there was to look at.
    runs_inspected_assumed, runs_any_assumed
        In how many runs the pieces inspected, or those with any defect, had to be assumed.
    defects
        The kinds that the setup is charged with, in Pareto order.
    kept_apart
        Faults that came in with the goods.
    any_defect
        Pieces with any defect; None where it was never recorded.
    costs
        What each kind of defect cost in the week, dearest first.
    losses
        Spoilage and rework of the week.
    changed
        Large changes of the setup mix.
    look_at
        Runs that contribute most beyond what is usual.
    held
        Runs of the week of which not every part of a broken needle is recorded as found.
    held_in_other_weeks
        Such runs of any other week: they stay in sight until they are released.
    actions
        Suggested looks.
    decided
        What this review and earlier ones decided on, the latest last, with what came of it.
    cautions
        In full, those that go with the suggestions and held runs.
    after_today
        How many runs of the book are dated on each day after today.
    charts
        Any defect over the last weeks, then the kinds that want a look, dearest first.
    photos
        Files of photos of the runs to look at, by their references.
    different
        What departs from what was to be expected, and where; None where nobody looked.
    """

    week: str
    monday: date
    sunday: date
    runs: int
    pieces_inspected: int
    stitches_sewn: float
    runs_inspected_assumed: int
    runs_any_assumed: int
    defects: tuple[Defect, ...]
    kept_apart: tuple[Defect, ...]
    any_defect: Defect | None
    costs: CostsResult
    losses: Losses
    changed: tuple[Change, ...]
    look_at: tuple[RunToLookAt, ...]
    held: tuple[HeldRun, ...]
    held_in_other_weeks: tuple[HeldRun, ...]
    actions: tuple[Action, ...]
    decided: tuple[Decided, ...]
    cautions: tuple[str, ...]
    after_today: Mapping[date, int]
    charts: tuple[ControlResult, ...] = ()
    photos: Mapping[str, tuple[Path, ...]] = field(default_factory=dict)
    different: WatchResult | None = None

    @property
    def ordered_by(self) -> Order:
        """What set the order: ``cost``, or ``count`` where no losses were recorded."""
        return self.costs.costed.ordered_by

    @property
    def currency(self) -> str:
        """The currency of all money."""
        return self.costs.currency

    @property
    def rows(self) -> tuple[Defect, ...]:
        """What a table of the week lists: any defect where it was recorded, then the kinds."""
        return (*((self.any_defect,) if self.any_defect else ()), *self.defects)

    @property
    def standing_out(self) -> tuple[Defect, ...]:
        """The kinds to speak of first, in their order."""
        return tuple(each for each in self.defects if each.stands_out)

    @property
    def decided_before(self) -> tuple[Decided, ...]:
        """What earlier reviews decided on."""
        return tuple(each for each in self.decided if each.action.decided < self.week)

    @property
    def decided_now(self) -> tuple[Decided, ...]:
        """What this review decided on."""
        return tuple(each for each in self.decided if each.action.decided == self.week)

    def judged(self, kind: str) -> Judged | None:
        """What the review judged of a kind; None where it is not judged."""
        found = (each.judged for each in (*self.rows, *self.kept_apart))
        return next((each for each in found if each.kind.name == kind), None)
