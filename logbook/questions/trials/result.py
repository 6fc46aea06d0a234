"""How trials stand: every one in the book, and one of them judged; and the fields of the JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

import polars as pl
from typing_extensions import TypedDict

from logbook.kernels.count_series import Measure
from logbook.kernels.setup_model.levels import Verdict
from logbook.runs.trial_pairs import NextLoad, SewnTrial
from logbook.runs.trials import Arm, KeptTrial
from logbook.wording import json_interval, json_number

Decision: TypeAlias = Literal["take", "leave", "cannot_tell"]
Interval: TypeAlias = tuple[float, float]


ChangeJson = TypedDict("ChangeJson", {"factor": str, "from": str | None, "to": str | None})


class TrialJson(TypedDict):
    """A trial as it was planned and stands."""

    trial: str
    state: str
    changes: list[ChangeJson]
    scope: dict[str, str]
    defect: str
    arms: list[str]
    pieces_per_arm: int
    pairs: int
    pieces: int
    power: float
    alpha: float
    smallest_difference: float
    rate_now: float
    lots_each: int
    looks: list[int]
    seed: int
    order: list[str]
    planned_on: str
    started_on: str | None
    ended_on: str | None
    why: str | None
    came_from: str


class KindJson(TypedDict):
    """One kind of defect: changed minus now, a fraction (events: per stitch)."""

    kind: str
    label: str
    measure: str
    rate_now: float | None
    rate_changed: float | None
    difference: float | None
    interval: list[float] | None
    p_value: float | None
    worse: bool


class LookJson(TypedDict):
    """One look: the difference so far with an interval that holds at all looks together."""

    pairs: int
    difference: float | None
    interval: list[float] | None
    level: float


class PairJson(TypedDict):
    """One pair as it was sewn."""

    pair: int
    as_now: list[str]
    changed: list[str]
    first: str
    planned_first: str | None
    differs: list[str]
    counts: bool


class JudgedJson(TypedDict):
    """What a trial says; ``difference`` is changed minus now."""

    trial: str
    state: str
    defect: str
    difference: float | None
    interval: list[float] | None
    level: float | None
    p_value: float | None
    sign_flip_p_value: float | None
    verdict: str
    decision: str
    may_end: bool
    rate_now: float | None
    rate_changed: float | None
    runs: int
    pieces: int
    pairs: int
    planned_pairs: int
    looked_after: int
    next_look: int | None
    money_per_100_pieces: float | None
    money_interval: list[float] | None
    kinds: list[KindJson]
    looks: list[LookJson]
    sewn: list[PairJson]
    left_out: dict[str, str]
    swapped: list[str]
    out_of_order: list[int]


class AnswerJson(TypedDict):
    """Every trial, and the one that is judged."""

    currency: str
    trials: list[TrialJson]
    judged: JudgedJson | None


@dataclass(frozen=True, slots=True)
class KindJudged:
    """One kind of defect in the pairs looked at; differences are changed minus now.

    ``worse`` where it rose for certain, the number of kinds allowed for.
    """

    kind: str
    label: str
    measure: Measure
    rate_now: float
    rate_changed: float
    difference: float
    interval: Interval
    p_value: float
    worse: bool


@dataclass(frozen=True, slots=True)
class LookSeen:
    """One look: pairs by then, the difference so far, and its interval at ``level``."""

    pairs: int
    difference: float
    interval: Interval
    level: float


@dataclass(frozen=True, slots=True)
class TrialJudged:
    """What one trial says.

    Attributes
    ----------
    kept, sewn
        The trial, and its loads as they were sewn.
    defect_label
        Of the kind that decides.
    looks
        Every look so far; the last one is what is said.
    difference, interval, level, p_value, sign_flip_p_value
        Of the last look; before the first one there is no interval.
    rate_now, rate_changed
        Of the deciding kind.
    runs, pieces
        In the pairs looked at.
    verdict
        Of the changed setup.
    decision, because
        Take it, leave it or cannot tell, and on which ground.
    may_end
        Whether it may end now: it is decided, or all pairs are sewn.
    money, money_interval
        Saved in 100 pieces by the change, its material taken off.
    pairs_more
        Pairs that would probably settle it, where it has ended undecided.
    kinds
        Every kind.
    next_look, next_loads
        Pairs at the next look, and what each machine sews next.
    lots
        Lots of backing sewn with in each arm.
    """

    kept: KeptTrial
    sewn: SewnTrial
    defect_label: str
    looks: tuple[LookSeen, ...]
    difference: float
    interval: Interval
    level: float
    p_value: float
    sign_flip_p_value: float
    rate_now: float
    rate_changed: float
    runs: int
    pieces: int
    verdict: Verdict
    decision: Decision
    because: str
    may_end: bool
    money: float
    money_interval: Interval
    pairs_more: int | None
    kinds: tuple[KindJudged, ...]
    next_look: int | None
    next_loads: Mapping[str, NextLoad]
    lots: Mapping[Arm, int]

    @property
    def looked_after(self) -> int:
        """Pairs at the last look; 0 before the first."""
        return self.looks[-1].pairs if self.looks else 0

    @property
    def out_of_order(self) -> tuple[int, ...]:
        """Pairs that were sewn the other way round than drawn."""
        return tuple(each.number for each in self.sewn.pairs if each.out_of_order)

    def as_json(self) -> JudgedJson:
        """Rates as fractions; null where it cannot be said yet."""
        trial = self.kept.trial
        return {
            "trial": self.kept.ref,
            "state": trial.state,
            "defect": trial.defect,
            "difference": json_number(self.difference),
            "interval": json_interval(self.interval),
            "level": json_number(self.level),
            "p_value": json_number(self.p_value),
            "sign_flip_p_value": json_number(self.sign_flip_p_value),
            "verdict": self.verdict,
            "decision": self.decision,
            "may_end": self.may_end,
            "rate_now": json_number(self.rate_now),
            "rate_changed": json_number(self.rate_changed),
            "runs": self.runs,
            "pieces": self.pieces,
            "pairs": len(self.sewn.counted),
            "planned_pairs": trial.pairs,
            "looked_after": self.looked_after,
            "next_look": self.next_look,
            "money_per_100_pieces": json_number(self.money),
            "money_interval": json_interval(self.money_interval),
            "kinds": [_kind_json(each) for each in self.kinds],
            "looks": [
                {
                    "pairs": each.pairs,
                    "difference": json_number(each.difference),
                    "interval": json_interval(each.interval),
                    "level": each.level,
                }
                for each in self.looks
            ],
            "sewn": [
                {
                    "pair": each.number,
                    "as_now": list(each.now.refs),
                    "changed": list(each.changed.refs),
                    "first": each.first,
                    "planned_first": each.planned_first,
                    "differs": list(each.differs),
                    "counts": each.counts,
                }
                for each in self.sewn.pairs
            ],
            "left_out": dict(self.sewn.left_out),
            "swapped": list(self.sewn.swapped),
            "out_of_order": list(self.out_of_order),
        }


@dataclass(frozen=True, slots=True)
class TrialsResult:
    """Every trial of the book, and one of them judged; None where none has begun."""

    trials: tuple[KeptTrial, ...]
    judged: TrialJudged | None
    currency: str

    def table(self) -> pl.DataFrame:
        """One row a kind of the judged trial; else one row a trial."""
        if self.judged is not None and self.judged.kinds:
            return pl.DataFrame(
                [
                    {
                        **{name: told for name, told in _kind_json(each).items()
                           if name != "interval"},
                        "lower": json_number(each.interval[0]),
                        "upper": json_number(each.interval[1]),
                    }
                    for each in self.judged.kinds
                ]
            )  # fmt: skip
        schema = {"trial": pl.String, "state": pl.String, "pairs": pl.Int64}
        return pl.DataFrame(
            [
                {"trial": each.ref, "state": each.trial.state, "pairs": each.trial.pairs}
                for each in self.trials
            ],
            schema=schema,
        )

    def as_json(self) -> AnswerJson:
        """The trials as planned, and the judgement."""
        return {
            "currency": self.currency,
            "trials": [trial_json(each) for each in self.trials],
            "judged": None if self.judged is None else self.judged.as_json(),
        }


def trial_json(kept: KeptTrial) -> TrialJson:
    """A trial with the fields that scripts rely on."""
    trial = kept.trial
    days = {
        name: None if (day := getattr(trial, name)) is None else day.isoformat()
        for name in ("started_on", "ended_on")
    }
    return {
        "trial": kept.ref,
        "state": trial.state,
        "changes": [
            {"factor": each.column, "from": each.before, "to": each.after} for each in trial.changes
        ],
        "scope": dict(trial.scope),
        "defect": trial.defect,
        "arms": [trial.arm_words("as now"), trial.arm_words("changed")],
        "pieces_per_arm": trial.pieces_per_arm,
        "pairs": trial.pairs,
        "pieces": trial.pieces,
        "power": trial.power,
        "alpha": trial.alpha,
        "smallest_difference": trial.smallest_difference,
        "rate_now": trial.rate_now,
        "lots_each": trial.lots_each,
        "looks": list(trial.looks),
        "seed": trial.seed,
        "order": list(trial.first),
        "planned_on": trial.planned_on.isoformat(),
        "started_on": days["started_on"],
        "ended_on": days["ended_on"],
        "why": trial.why,
        "came_from": trial.came_from,
    }


def _kind_json(each: KindJudged) -> KindJson:
    return {
        "kind": each.kind,
        "label": each.label,
        "measure": each.measure,
        "rate_now": json_number(each.rate_now),
        "rate_changed": json_number(each.rate_changed),
        "difference": json_number(each.difference),
        "interval": json_interval(each.interval),
        "p_value": json_number(each.p_value),
        "worse": each.worse,
    }
