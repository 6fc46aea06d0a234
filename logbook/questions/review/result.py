"""A weekly review as an answer: its table, and its JSON."""

from __future__ import annotations

from typing import Any

import polars as pl

from logbook.questions.review.changes import Change
from logbook.questions.review.decided import NOT_A_TRIAL, Decided, Outcome, Side
from logbook.questions.review.held import HeldRun
from logbook.questions.review.judging import Judged
from logbook.questions.review.reviewed import Defect, ReviewedWeek
from logbook.questions.review.runs import RunToLookAt
from logbook.questions.review.shapes import (
    AnswerJson,
    AnyDefectJson,
    ChangeJson,
    CountsJson,
    DecidedJson,
    DefectJson,
    ExcessJson,
    HeldJson,
    LookJson,
    OutcomeJson,
    RunJson,
    SideJson,
)
from logbook.questions.review.words import headline, in_full
from logbook.questions.review.words.changes import change_sentence
from logbook.questions.review.words.kinds import says
from logbook.questions.watch.result import finding_json
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.wording import PER_STITCHES, json_number

__all__ = ["AnswerJson", "ReviewResult"]


class ReviewResult(ReviewedWeek):
    """One week's defect review; its numbers are those of :class:`ReviewedWeek`."""

    __slots__ = ()

    def table(self) -> pl.DataFrame:
        """One row a kind in Pareto order, those kept apart last."""
        rows: list[dict[str, Any]] = [
            {**_defect(each), "kept_apart": each in self.kept_apart}
            for each in (*self.defects, *self.kept_apart)
        ]
        for row in rows:
            for name in ("interval", "interval_before"):
                row[f"{name}_lower"], row[f"{name}_upper"] = row.pop(name)
        return pl.DataFrame(rows, infer_schema_length=None)

    def as_json(self) -> AnswerJson:
        """Answer the ``review`` object, with more beside."""
        return {
            "week": self.week,
            "from": self.monday.isoformat(),
            "to": self.sunday.isoformat(),
            "runs": self.runs,
            "pieces_inspected": self.pieces_inspected,
            "stitches_sewn": json_number(self.stitches_sewn),
            "summary": headline(self),
            "headline": in_full(self),
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
            "action_details": [
                {
                    "kind": each.kind,
                    "because": each.because,
                    "remedies": list(each.remedies),
                    "cautions": list(each.cautions),
                    "practice": "common practice",
                }
                for each in self.actions
            ],
            "decided_actions": [_decided(each) for each in self.decided],
            "cautions": list(self.cautions),
            "different": []
            if self.different is None
            else [finding_json(each, self.currency) for each in self.different.findings],
        }


def _defect(defect: Defect) -> DefectJson:
    judged, cost = defect.judged, defect.cost
    events = judged.kind.measure == "events"
    return {
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
        "says": says(defect),
        "per_100k_stitches": json_number(judged.rate * PER_STITCHES) if events else None,
    }


def _counts(judged: Judged) -> CountsJson:
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


def _any_defect(defect: Defect | None) -> AnyDefectJson:
    if defect is None:
        return {"count": 0, "exposure": 0.0, "rate": None, "interval": [None, None]}
    return {
        **_counts(defect.judged),
        "label": defect.judged.kind.label,
        "signals": list(defect.judged.signals),
        "verdict": defect.judged.verdict,
        "says": says(defect),
    }


def _change(change: Change) -> ChangeJson:
    return {
        "factor": change.factor,
        "level": change.level,
        "what": change.what,
        "share": change.share,
        "share_before": change.share_before,
        "pieces": change.pieces,
        "all_pieces": change.all_pieces,
        "says": change_sentence(change),
    }


def _run(run: RunToLookAt | HeldRun) -> RunJson:
    return {
        "run_ref": run.run_ref,
        "finished_at": run.finished_at.isoformat(),
        "machine": run.setup["machine"],
        "operator": run.setup["operator"],
        "design": run.setup["design"],
        "fabric": run.setup["fabric"],
        "backing": run.setup["backing"],
        "supplier": run.setup["supplier"],
        "lot": run.setup["lot"],
    }


def _look(run: RunToLookAt) -> LookJson:
    kinds: list[ExcessJson] = [
        {
            "kind": each.kind.name,
            "label": each.kind.label,
            "count": each.count,
            "exposure": each.exposure,
            "expected": json_number(each.expected),
        }
        for each in run.excesses
    ]
    return {**_run(run), "kinds": kinds, "why": run.why}


def _held(run: HeldRun) -> HeldJson:
    return {**_run(run), "caution": BROKEN_NEEDLE_HELD}


def _decided(decided: Decided) -> DecidedJson:
    action = decided.action
    return {
        "action": decided.kept.ref,
        "what": action.what,
        "decided": action.decided,
        "by": action.by,
        "due": action.due,
        "kind": action.kind,
        "machine": action.machine,
        "fabric": action.fabric,
        "backing": action.backing,
        "backing_supplier": action.backing_supplier,
        "design": action.design,
        "state": action.state,
        "ended_on": action.ended_on.isoformat() if action.ended_on else None,
        "why": action.why,
        "standing": decided.standing,
        "outcome": None if decided.outcome is None else _outcome(decided.outcome),
        "says": f"{decided.says}. {decided.result}",
    }


def _outcome(outcome: Outcome) -> OutcomeJson:
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


def _side(side: Side, rate: float) -> SideJson:
    return {
        "count": side.count,
        "exposure": side.exposure,
        "weeks": side.weeks,
        "rate": json_number(rate),
    }
