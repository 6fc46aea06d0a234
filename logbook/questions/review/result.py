"""The weekly review as a whole: its figures, its sentences and its JSON."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import polars as pl

from logbook.costing import KindCost
from logbook.questions.review.actions import Action
from logbook.questions.review.decided import NOT_A_TRIAL, Decided, Outcome, Side
from logbook.questions.review.held import HeldRun
from logbook.questions.review.judging import FEWEST_WEEKS, Judged, Verdict
from logbook.questions.review.losses import Losses
from logbook.questions.review.mix import Change
from logbook.questions.review.runs import RunToLookAt
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.wording import PER_STITCHES, json_number

VERDICT_WORDS: dict[Verdict, str] = {
    "more_than_usual": "more than usual",
    "less_than_usual": "less than usual",
    "as_usual": "as usual",
    "cannot_say": "cannot say",
}


@dataclass(frozen=True, slots=True, eq=False)
class Defect:
    """One kind in the week: judged, costed (None where it is not) and said in a sentence."""

    judged: Judged
    cost: KindCost | None
    says: str

    @property
    def stands_out(self) -> bool:
        """Whether it is more than luck either way, or worth watching."""
        return self.judged.watch or self.judged.verdict in ("more_than_usual", "less_than_usual")

    @property
    def verdict_words(self) -> str:
        """The verdict as a table says it: ``more than usual``, ``as usual, watch``."""
        return VERDICT_WORDS[self.judged.verdict] + (", watch" if self.judged.watch else "")

    @property
    def amount(self) -> float | None:
        """What it cost; None where it is not costed, NaN where that cannot be said."""
        return None if self.cost is None else self.cost.cost


@dataclass(frozen=True, slots=True, eq=False)
class ReviewResult:
    """One week's defect review.

    Attributes
    ----------
    week, monday, sunday
        The week.
    runs, pieces_inspected, stitches_sewn
        How much there was to look at.
    defects
        The kinds that the setup is charged with, in Pareto order.
    kept_apart
        Faults that came in with the goods.
    any_defect
        Pieces with any defect; None where it was never recorded.
    ordered_by, currency
        What set the order; the currency of all money.
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
    headline
        The week in words.
    notes
        What to keep in mind.
    """

    week: str
    monday: date
    sunday: date
    runs: int
    pieces_inspected: int
    stitches_sewn: float
    defects: tuple[Defect, ...]
    kept_apart: tuple[Defect, ...]
    any_defect: Defect | None
    ordered_by: str
    currency: str
    losses: Losses
    changed: tuple[Change, ...]
    look_at: tuple[RunToLookAt, ...]
    held: tuple[HeldRun, ...]
    held_in_other_weeks: tuple[HeldRun, ...]
    actions: tuple[Action, ...]
    decided: tuple[Decided, ...]
    cautions: tuple[str, ...]
    headline: str
    notes: tuple[str, ...]

    def table(self) -> pl.DataFrame:
        """One row a kind in Pareto order, those kept apart last."""
        rows = [
            _defect(each) | {"kept_apart": each in self.kept_apart}
            for each in (*self.defects, *self.kept_apart)
        ]
        for row in rows:
            for name in ("interval", "interval_before"):
                row[f"{name}_lower"], row[f"{name}_upper"] = row.pop(name)
        return pl.DataFrame(rows, infer_schema_length=None)

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

    def held_names(self) -> str:
        """Name every held run, those of other weeks with their day; empty where there is none."""
        others = (f"{each.run_ref} of {each.day_words()}" for each in self.held_in_other_weeks)
        return ", ".join((*(each.run_ref for each in self.held), *others))

    def finding(self) -> str:
        """The week in words, with its figures."""
        return self.headline

    def summary(self) -> str:
        """The week in words alone, to be read before the figures."""
        if self.runs == 0:
            return "No runs are recorded in this week."
        said = []
        if self.held:
            runs = "1 run is" if len(self.held) == 1 else f"{len(self.held)} runs are"
            said.append(f"{runs} held for missing needle parts.")
        for words, kinds in (
            ("More than usual", self._called("more_than_usual")),
            ("Less than usual", self._called("less_than_usual")),
            ("To be watched", [each for each in self.defects if each.judged.watch]),
        ):
            if kinds:
                names = ", ".join(each.judged.kind.label.lower() for each in kinds)
                said.append(f"{words}: {names}.")
        loud = any(words.startswith(("More", "Less", "To be")) for words in said)
        return " ".join([*said, *self._quiet(loud=loud)])

    def _quiet(self, *, loud: bool) -> tuple[str, ...]:
        """Say the kinds that nothing is called of: as usual, or too little known to say."""
        usual, unsaid = self._called("as_usual"), self._called("cannot_say")
        if unsaid and len(unsaid) == len(self.defects):
            if all(each.judged.weeks_before < FEWEST_WEEKS for each in unsaid):
                return ("There are too few weeks on record to say what is usual.",)
            return ("Too little was recorded in this week to say how any kind of defect went.",)
        if not usual:
            return ()
        if len(unsaid) > len(usual):
            others = "the others that are not named" if loud else "the others"
            how = "to say how most kinds of defect went"
            return (f"Too little was recorded in this week {how}; {others} as usual.",)
        if unsaid:
            rest = "The rest" if loud else "All kinds of defect"
            return (f"{rest} as usual, or too seldom seen to say.",)
        return ("Everything else as usual." if loud else "All kinds of defect as usual.",)

    def _called(self, verdict: str) -> list[Defect]:
        return [each for each in self.defects if each.judged.verdict == verdict]

    def as_json(self) -> dict[str, Any]:
        """Answer the ``review`` object, with more beside."""
        return {
            "week": self.week,
            "from": self.monday.isoformat(),
            "to": self.sunday.isoformat(),
            "runs": self.runs,
            "pieces_inspected": self.pieces_inspected,
            "stitches_sewn": json_number(self.stitches_sewn),
            "summary": self.summary(),
            "headline": self.headline,
            "defects": [_defect(each) for each in self.defects],
            "kept_apart": [_defect(each) for each in self.kept_apart],
            "any_defect": _any_defect(self.any_defect),
            "ordered_by": self.ordered_by,
            "currency": self.currency,
            "losses": {
                "pieces_spoiled": self.losses.pieces_spoiled,
                "pieces_reworked": self.losses.pieces_reworked,
                "rework_minutes": json_number(self.losses.rework_minutes),
                "cost": json_number(self.losses.cost),
                "unassigned_cost": json_number(self.losses.unassigned_cost),
            },
            "changed": [_change(each) for each in self.changed],
            "look_at": [_look(each) for each in self.look_at],
            "held": [_held(each) for each in self.held],
            "held_in_other_weeks": [_held(each) for each in self.held_in_other_weeks],
            "actions": [each.says for each in self.actions],
            "action_details": [_action(each) for each in self.actions],
            "decided_actions": [_decided(each) for each in self.decided],
            "cautions": list(self.cautions),
            "notes": list(self.notes),
        }


def _defect(defect: Defect) -> dict[str, Any]:
    judged, cost = defect.judged, defect.cost
    row: dict[str, Any] = {
        "kind": judged.kind.name,
        "label": judged.kind.label,
        "measure": judged.kind.measure,
        **_counts(judged),
        "share_of_cost": None if cost is None else json_number(cost.share_of_cost),
        "cost": None if cost is None else json_number(cost.cost),
        "signals": list(judged.signals),
        "direction": judged.direction,
        "verdict": judged.verdict,
        "watch": judged.watch,
        "q_value": json_number(judged.q_value),
        "says": defect.says,
    }
    events = judged.kind.measure == "events"
    row["per_100k_stitches"] = json_number(judged.rate * PER_STITCHES) if events else None
    return row


def _counts(judged: Judged) -> dict[str, Any]:
    return {
        "count": judged.count,
        "exposure": judged.exposure,
        "rate": json_number(judged.rate),
        "interval": [json_number(bound) for bound in judged.interval],
        "rate_before": json_number(judged.rate_before),
        "interval_before": [json_number(bound) for bound in judged.interval_before],
        "count_before": judged.count_before,
        "exposure_before": judged.exposure_before,
        "weeks_before": judged.weeks_before,
        "expected": json_number(judged.expected),
    }


def _any_defect(defect: Defect | None) -> dict[str, Any]:
    if defect is None:
        return {"count": 0, "exposure": 0.0, "rate": None, "interval": [None, None]}
    return _counts(defect.judged) | {
        "label": defect.judged.kind.label,
        "signals": list(defect.judged.signals),
        "verdict": defect.judged.verdict,
        "says": defect.says,
    }


def _change(change: Change) -> dict[str, Any]:
    return {
        "factor": change.factor,
        "level": change.level,
        "what": change.what,
        "share": change.share,
        "share_before": change.share_before,
        "pieces": change.pieces,
        "all_pieces": change.all_pieces,
        "says": change.says,
    }


def _look(run: RunToLookAt) -> dict[str, Any]:
    return {
        "run_ref": run.run_ref,
        "finished_at": run.finished_at.isoformat(),
        **run.setup,
        "kinds": [
            {
                "kind": each.kind.name,
                "label": each.kind.label,
                "count": each.count,
                "exposure": each.exposure,
                "expected": json_number(each.expected),
            }
            for each in run.excesses
        ],
        "why": run.why,
    }


def _held(run: HeldRun) -> dict[str, Any]:
    return {
        "run_ref": run.run_ref,
        "finished_at": run.finished_at.isoformat(),
        **run.setup,
        "caution": BROKEN_NEEDLE_HELD,
    }


def _action(action: Action) -> dict[str, Any]:
    return {
        "kind": action.kind,
        "because": action.because,
        "remedies": list(action.remedies),
        "cautions": list(action.cautions),
        "practice": "common practice",
    }


def _decided(decided: Decided) -> dict[str, Any]:
    return {
        "action": decided.kept.ref,
        **decided.action.plain(),
        "standing": decided.standing,
        "outcome": None if decided.outcome is None else _outcome(decided.outcome),
        "says": f"{decided.says}. {decided.result}",
    }


def _outcome(outcome: Outcome) -> dict[str, Any]:
    change = outcome.change
    return {
        "worked": outcome.worked,
        "before": _side(outcome.before, change.rate_before),
        "since": _side(outcome.after, change.rate_after),
        "difference": json_number(change.difference),
        "difference_interval": [json_number(change.lower), json_number(change.upper)],
        "dispersion": change.dispersion,
        "says": outcome.says,
        "caveat": NOT_A_TRIAL,
    }


def _side(side: Side, rate: float) -> dict[str, Any]:
    return {
        "count": side.count,
        "exposure": side.exposure,
        "weeks": side.weeks,
        "rate": json_number(rate),
    }
