"""What a review's JSON looks like, part by part."""

from __future__ import annotations

from typing import Literal, NotRequired

from typing_extensions import TypedDict

from logbook.costing import Order
from logbook.questions.review.changes import What
from logbook.questions.review.decided import Worked
from logbook.questions.review.judging import Verdict
from logbook.questions.watch.result import FindingJson
from logbook.runs.actions import State


class CountsJson(TypedDict):
    """What was counted in the week and before; rates with 95 % intervals."""

    count: int
    exposure: float
    rate: float | None
    interval: list[float | None]
    rate_before: float | None
    interval_before: list[float | None]
    count_before: int
    exposure_before: float
    weeks_before: int
    expected: float | None


class DefectJson(CountsJson):
    """One kind of defect in the week."""

    kind: str
    label: str
    measure: Literal["pieces", "events"]
    share_of_cost: float | None
    cost: float | None
    signals: list[str]
    direction: Literal["above", "below"] | None
    verdict: Verdict
    watch: bool
    q_value: float | None
    says: str
    per_100k_stitches: float | None


class AnyDefectJson(TypedDict):
    """Pieces with any defect; the rest is there where they were ever recorded."""

    count: int
    exposure: float
    rate: float | None
    interval: list[float | None]
    rate_before: NotRequired[float | None]
    interval_before: NotRequired[list[float | None]]
    count_before: NotRequired[int]
    exposure_before: NotRequired[float]
    weeks_before: NotRequired[int]
    expected: NotRequired[float | None]
    label: NotRequired[str]
    signals: NotRequired[list[str]]
    verdict: NotRequired[Verdict]
    says: NotRequired[str]


class LossesJson(TypedDict):
    """What was lost in the week; null where no run recorded it."""

    pieces_spoiled: int | None
    pieces_reworked: int | None
    rework_minutes: float | None
    cost: float | None
    unassigned_cost: float | None


class ChangeJson(TypedDict):
    """A change of the setup mix."""

    factor: str
    level: str
    what: What
    share: float
    share_before: float
    pieces: float
    all_pieces: float
    says: str


class RunJson(TypedDict):
    """A run and what it was sewn with."""

    run_ref: str
    finished_at: str
    machine: str | None
    operator: str | None
    design: str | None
    fabric: str | None
    backing: str | None
    supplier: str | None
    lot: str | None


class ExcessJson(TypedDict):
    """A kind of defect that a run shows more of than usual."""

    kind: str
    label: str
    count: int
    exposure: float
    expected: float | None


class LookJson(RunJson):
    """A run to look at."""

    kinds: list[ExcessJson]
    why: str


class HeldJson(RunJson):
    """A run that is held for missing needle parts."""

    caution: str


class ActionJson(TypedDict):
    """Where to look first for one kind of defect."""

    kind: str
    because: Literal["more_than_usual", "watch"]
    remedies: list[str]
    cautions: list[str]
    practice: str


class SideJson(TypedDict):
    """What was counted before an action, or since."""

    count: int
    exposure: float
    weeks: int
    rate: float | None


class OutcomeJson(TypedDict):
    """Whether an action worked, as far as the counts can say."""

    worked: Worked
    before: SideJson
    since: SideJson
    difference: float | None
    difference_interval: list[float | None]
    dispersion: float
    says: str
    caveat: str


class DecidedJson(TypedDict):
    """An action of this review or an earlier one; ``action`` is its reference."""

    action: str
    what: str
    by: str | None
    kind: str | None
    machine: str | None
    fabric: str | None
    backing: str | None
    backing_supplier: str | None
    design: str | None
    decided: str
    due: str | None
    state: State
    ended_on: str | None
    why: str | None
    standing: str
    outcome: OutcomeJson | None
    says: str


WeekJson = TypedDict("WeekJson", {"week": str, "from": str, "to": str})


class AnswerJson(WeekJson):
    """The ``review`` object, with more beside."""

    runs: int
    pieces_inspected: int
    stitches_sewn: float | None
    summary: str
    headline: str
    defects: list[DefectJson]
    kept_apart: list[DefectJson]
    any_defect: AnyDefectJson
    ordered_by: Order
    currency: str
    losses: LossesJson
    changed: list[ChangeJson]
    look_at: list[LookJson]
    held: list[HeldJson]
    held_in_other_weeks: list[HeldJson]
    actions: list[str]
    action_details: list[ActionJson]
    decided_actions: list[DecidedJson]
    cautions: list[str]
    different: list[FindingJson]
