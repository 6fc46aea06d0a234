"""A drawn-up trial in words: what it takes, what to do, what it cannot say; and its JSON."""

from __future__ import annotations

import math

from typing_extensions import TypedDict

from logbook.questions.trials.planning import MOST_LOTS, PlannedTrial
from logbook.questions.trials.result import TrialJson, trial_json
from logbook.questions.trials.words import planned_words
from logbook.runs.trials import AS_NOW, CHANGED, Arm, KeptTrial, Trial
from logbook.vocabulary.cautions import CAUTIONS
from logbook.wording import json_number, money, number, percent, points

_CAUTIONS = {each.name: each.says for each in CAUTIONS}
LONG_WEEKS = 8.0


class LoadJson(TypedDict):
    """One load of the drawn order."""

    pair: int
    load: int
    arm: str
    pieces: int


class PlanJson(TypedDict):
    """A trial drawn up; ``trial`` is null where it is not kept."""

    trial: str | None
    arms: list[str]
    pieces_per_arm: int
    pairs: int | None
    pieces: int | None
    pieces_each_arm: int | None
    power: float
    alpha: float
    smallest_difference: float
    rate_now: float
    worth_per_100_pieces: float | None
    decides: bool
    learnable_difference: float | None
    weeks: float | None
    lots_each: int
    lots_wanted: int
    pieces_if_steady: float
    power_if_steady: float | None
    power_if_more_restless: float | None
    kept: TrialJson | None
    loads: list[LoadJson]
    instructions: list[str]
    cautions: list[str]
    finding: str
    notes: list[str]


def plan_json(planned: PlannedTrial, kept: KeptTrial | None) -> PlanJson:
    """Answer the fields that scripts rely on."""
    trial = planned.trial
    return {
        "trial": None if kept is None else kept.ref,
        "arms": [_arm(planned, arm) for arm in (AS_NOW, CHANGED)],
        "pieces_per_arm": planned.pieces_per_arm,
        "pairs": planned.pairs_wanted,
        "pieces": planned.pieces_wanted,
        "pieces_each_arm": None if planned.pieces_wanted is None else planned.pieces_wanted // 2,
        "power": planned.power,
        "alpha": planned.alpha,
        "smallest_difference": planned.smallest_difference,
        "rate_now": planned.rate_now,
        "worth_per_100_pieces": json_number(_worth(planned)),
        "decides": trial is not None,
        "learnable_difference": json_number(planned.learnable),
        "weeks": json_number(planned.weeks),
        "lots_each": planned.lots_each,
        "lots_wanted": planned.lots_wanted,
        "pieces_if_steady": planned.pieces_if_steady,
        "power_if_steady": json_number(planned.power_if_steady),
        "power_if_more_restless": json_number(planned.power_if_more_restless),
        "kept": None if kept is None else trial_json(kept),
        "loads": [] if trial is None else loads(trial),
        "instructions": [] if trial is None else list(instructions(trial)),
        "cautions": [] if trial is None else list(cautions(trial)),
        "finding": finding(planned),
        "notes": list(plan_notes(planned)),
    }


def loads(trial: Trial) -> list[LoadJson]:
    """Every load in the drawn order."""
    told: list[LoadJson] = []
    for number_, first in enumerate(trial.first, start=1):
        second: Arm = CHANGED if first == AS_NOW else AS_NOW
        for place, arm in enumerate((first, second), start=1):
            told.append(
                {"pair": number_, "load": place, "arm": arm, "pieces": trial.pieces_per_arm}
            )
    return told


def finding(planned: PlannedTrial) -> str:
    """Say in a sentence or two what it takes and what it finds, or that none can decide."""
    fall = points(planned.smallest_difference)
    rate = percent(planned.rate_now)
    if planned.trial is not None:
        return (
            f"{planned_words(planned.trial)} find a fall of {fall} from {rate}, if it is there, "
            f"{percent(planned.power, 0)} of the time."
        )
    takes = (
        "no number of pieces would do"
        if planned.pieces_wanted is None
        else f"it takes {number(planned.pieces_wanted)} pieces, and this work has about "
        f"{number(planned.pieces_affordable)} in half a year"
    )
    learn = (
        "No fall at all can be shown so; go by the record instead."
        if planned.learnable is None
        else f"What can be learnt: whether it saves {points(_up(planned.learnable))} or more. Plan "
        "a trial of that size."
    )
    return f"No affordable trial can show a fall of {fall} from {rate}: {takes}. {learn}"


def plan_notes(planned: PlannedTrial) -> tuple[str, ...]:
    """Say what it rests on, what it does not hold for, and how it was worked out."""
    worth = _worth(planned)
    said = [
        f"The rate now is that of {number(planned.rests_on)} pieces on record "
        f"{planned.rests_on_words}.",
        *(
            [f"A fall of that size is worth {money(worth, planned.currency)} in 100 pieces."]
            if math.isfinite(worth)
            else []
        ),
        *_about_lots(planned),
    ]
    if not planned.restlessness_known:
        said.append("The record is too small to say how restless runs are: a usual value is taken.")
    if planned.weeks is not None and planned.weeks > LONG_WEEKS and planned.trial is not None:
        said.append(f"At the usual pace of this work that is about {number(round(planned.weeks))} "
                    "weeks.")  # fmt: skip
    if planned.trial is not None:
        said.append(
            f"If the fall is there, it is over after about "
            f"{number(round(planned.share_if_there * planned.trial.pairs))} pairs on average; in a "
            f"shop twice as restless as the record says it is found "
            f"{percent(planned.power_if_more_restless, 0)} of the time."
        )
    said.append(
        f"If every piece had its own luck, {number(math.ceil(planned.pieces_if_steady))} pieces of "
        "each would do (Fleiss, Levin & Paik 2003, ch. 4). Runs have theirs, so the pairs are "
        "counted by Student's test with the spread of this shop's runs, and a few more pay for "
        "looking as it runs (Lan & DeMets 1983)."
    )
    return tuple(said)


def instructions(trial: Trial) -> tuple[str, ...]:
    """What to do, in plain words, in order."""
    each = number(trial.pieces_per_arm)
    lots = (
        ""
        if trial.lots_each == 1
        else f" Use at least {trial.lots_each} lots of each backing, and write down every lot."
    )
    return (
        f"Sew loads of {each} pieces, two loads to a pair: one as now, one changed.",
        "Take the order from the list below. It was drawn by chance: keep to it.",
        "Change nothing else between the two loads of a pair: same machine, operator, design, "
        f"thread, fabric and lots.{lots}",
        "Count every piece of both loads in the same way, at the same stage.",
        "Log each load by itself. The form offers the trial and the next load: one tap.",
        "Look as often as you like: the verdict says when it may end.",
    )


def cautions(trial: Trial) -> tuple[str, ...]:
    """What to mind at the machine."""
    names = ["moving_needles", "broken_needle"]
    values = {each.after for each in trial.changes} | {each.before for each in trial.changes}
    if any(value and ("fusible" in value or "heat_away" in value) for value in values):
        names.append("heat")
    if values & {"adhesive"}:
        names.append("spray_adhesive")
    return (*(_CAUTIONS[name] for name in names), _CAUTIONS["no_safety_certificate"])


def _up(difference: float) -> float:
    """A tenth of a point up, so that the figure said is one that can be planned."""
    return math.ceil(difference * 1000) / 1000


def _arm(planned: PlannedTrial, arm: Arm) -> str:
    said = ", ".join(each.words(arm) for each in planned.asked.changes)
    return f"{arm.capitalize()} ({said})"


def _worth(planned: PlannedTrial) -> float:
    return 100 * planned.smallest_difference * planned.cost_per_defective


def _about_lots(planned: PlannedTrial) -> tuple[str, ...]:
    if planned.lots_wanted <= 1:
        return ()
    if planned.lots_wanted > MOST_LOTS:
        return (
            f"No affordable trial judges the backing itself: lots differ so much here that it "
            f"takes about {number(planned.lots_wanted)} of each. This one tells about the lots "
            "sewn with; write every lot down, and logbook suppliers learns from all of them.",
        )
    return (f"It takes {planned.lots_each} lots of each to speak about the backing itself.",)
