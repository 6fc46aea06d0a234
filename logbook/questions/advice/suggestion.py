"""What is suggested, and how it is written for scripts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from typing_extensions import TypedDict

from logbook.questions.advice.job import BACKING_PARTS
from logbook.questions.advice.trials import TrialJson, TrialPlan
from logbook.runs.columns import OPEN_LISTS
from logbook.runs.factors import factor_label, level_label
from logbook.wording import json_number

_NAMES = frozenset(OPEN_LISTS) - {"fabric"}
"""Factors whose levels are names, and keep their capitals."""

Bounds: TypeAlias = tuple[float, float]
Evidence: TypeAlias = Literal["strong", "fair", "thin"]


ChangeJson = TypedDict(
    "ChangeJson", {"factor": str, "from": str | None, "to": str | None, "says": str}
)


class KindJson(TypedDict):
    """What a change does to one kind of defect."""

    kind: str
    label: str
    rate_now: float | None
    rate_then: float | None


class SuggestionJson(TypedDict):
    """One change, or two, with what to expect of it."""

    changes: list[ChangeJson]
    expected_rate: float | None
    interval: list[float]
    saving_per_100_pieces: float | None
    saving_interval: list[float]
    saving_best_guess: float | None
    fewer_defective_per_100: float | None
    fewer_defective_interval: list[float]
    chance_better: float | None
    runs: int
    pieces_inspected: int
    evidence: Evidence
    by_kind: list[KindJson]
    cautions: list[str]
    uncounted: list[str]
    trial: TrialJson | None


@dataclass(frozen=True, slots=True)
class Change:
    """One part of the setup, from what it is to what it could be."""

    factor: str
    before: str | None
    after: str | None

    def words(self) -> str:
        """Say it: ``topping from no topping to water-soluble film``."""
        before, after = (level_said(self.factor, word) for word in (self.before, self.after))
        start = "" if self.before is None else f" from {before}"
        return f"{in_sentence(factor_label(self.factor))}{start} to {after}"

    def as_json(self) -> ChangeJson:
        """Answer the stored values, and the labels that people read."""
        return {
            "factor": self.factor,
            "from": self.before,
            "to": self.after,
            "says": self.words(),
        }


@dataclass(frozen=True, slots=True)
class KindEffect:
    """What a change does to one kind of defect: expected rates before and after."""

    kind: str
    label: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One change, or two, with what to expect of it.

    Attributes
    ----------
    changes
        What to change.
    expected_rate, interval
        Share of pieces with any defect, on new lots of backing.
    saving_per_100, saving_interval, best_guess_per_100
        Money saved per 100 pieces: what is told, as it comes true on average of suggestions picked
        as best; the interval; and the model's own best guess, which picking makes too large.
    pieces_saved_per_100, pieces_saved_interval
        Defective pieces fewer in 100, as told.
    chance_better, evidence
        That it costs less than now at all.
    runs, pieces
        Like runs that had the changes.
    by_kind
        What it does to each kind.
    cautions
        What to mind.
    uncounted
        Materials that the saving leaves out, as their price is not known.
    trial
        A fair trial of it; None where the record is strong enough.
    doubted
        Whether common practice or plain counts speak against it, as the cautions say.
    """

    changes: tuple[Change, ...]
    expected_rate: float
    interval: Bounds
    saving_per_100: float
    saving_interval: Bounds
    best_guess_per_100: float
    pieces_saved_per_100: float
    pieces_saved_interval: Bounds
    chance_better: float
    evidence: Evidence
    runs: int
    pieces: float
    by_kind: tuple[KindEffect, ...]
    cautions: tuple[str, ...]
    trial: TrialPlan | None
    uncounted: tuple[str, ...] = ()
    doubted: bool = False

    @property
    def may_lose(self) -> bool:
        """Whether the record is not strong, and the interval of the saving includes a loss."""
        return self.evidence != "strong" and self.saving_interval[0] < 0

    def words(self) -> str:
        """Say the changes: ``topping from … to … and hooping from … to …``."""
        return changes_said(self.changes)

    def as_json(self) -> SuggestionJson:
        """Answer the fields that scripts rely on."""
        return {
            "changes": [change.as_json() for change in self.changes],
            "expected_rate": json_number(self.expected_rate),
            "interval": list(self.interval),
            "saving_per_100_pieces": json_number(self.saving_per_100),
            "saving_interval": list(self.saving_interval),
            "saving_best_guess": json_number(self.best_guess_per_100),
            "fewer_defective_per_100": json_number(self.pieces_saved_per_100),
            "fewer_defective_interval": list(self.pieces_saved_interval),
            "chance_better": json_number(self.chance_better),
            "runs": self.runs,
            "pieces_inspected": round(self.pieces),
            "evidence": self.evidence,
            "by_kind": [
                {
                    "kind": each.kind,
                    "label": each.label,
                    "rate_now": json_number(each.before),
                    "rate_then": json_number(each.after),
                }
                for each in self.by_kind
            ],
            "cautions": list(self.cautions),
            "uncounted": list(self.uncounted),
            "trial": None if self.trial is None else self.trial.as_json(),
        }


def changes_between(
    now: Mapping[str, str | None], changes: Mapping[str, str | None]
) -> tuple[Change, ...]:
    """List what a candidate changes; a part that came with it and stays as it is, is no change."""
    return tuple(
        Change(name, now.get(name), word) for name, word in changes.items() if word != now.get(name)
    )


def changes_said(changes: Sequence[Change]) -> str:
    """Say several changes, leaving out what goes without saying.

    That is: parts of no backing, and parts that the runs with another backing do not record.
    """
    bare = any((each.factor, each.after) == ("backing", "none") for each in changes)
    return " and ".join(
        each.words()
        for each in changes
        if each.after is not None and not (bare and each.factor in BACKING_PARTS)
    )


def level_said(factor: str, word: str | None) -> str:
    """Say a level within a sentence."""
    label = level_label(factor, word)
    return label if factor in _NAMES else in_sentence(label)


def in_sentence(label: str) -> str:
    """Begin with a small letter, but for abbreviations and names."""
    return label if label[1:2].isupper() else f"{label[:1].lower()}{label[1:]}"
