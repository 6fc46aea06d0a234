"""What to look at next: the usual first remedies of the kinds that stand out, with cautions."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from logbook.questions.review.held import HeldRun
from logbook.questions.review.judging import Judged
from logbook.vocabulary.cautions import CAUTIONS
from logbook.vocabulary.defects import DefectKind

FIRST_REMEDIES = 3
MOST_ACTIONS = 5

# Words of a remedy → the caution that goes with it.
_CAUTIONED = {
    "moving_needles": re.compile(r"machine|needle|hook|power"),
    "heat": re.compile(
        r"\b(?:press(?:ed|ing)?|steam\w*|fus(?:e|ed|ible|ing)|iron\w*|temperature)\b"
    ),
    "spray_adhesive": re.compile(r"spray|adhesive"),
    "magnetic_frames": re.compile(r"magnetic"),
}


@dataclass(frozen=True, slots=True)
class Action:
    """One suggested look.

    Attributes
    ----------
    kind
        Column name of the kind of defect.
    because
        Called more than usual, or a pattern to watch.
    remedies
        What a practitioner tries first, in that order: common practice, no instruction.
    cautions
        Names of the cautions that go with them.
    says
        The sentence.
    """

    kind: str
    because: Literal["more_than_usual", "watch"]
    remedies: tuple[str, ...]
    cautions: tuple[str, ...]
    says: str


def actions_for(judged: Sequence[Judged]) -> tuple[Action, ...]:
    """Suggest looks for the kinds that stand out upwards, surest first, then in the order given."""
    more = [each for each in judged if each.verdict == "more_than_usual"]
    watched = [each for each in judged if each.watch]
    return tuple(_action(each) for each in (*more, *watched)[:MOST_ACTIONS])


def cautions_for(actions: Sequence[Action], held: Sequence[HeldRun]) -> tuple[str, ...]:
    """The cautions, in full, that go with the suggestions and with runs that are held."""
    named = {name for action in actions for name in action.cautions}
    if held:
        named.add("broken_needle")
    if not named:
        return ()
    named.add("no_safety_certificate")
    return tuple(caution.says for caution in CAUTIONS if caution.name in named)


def cautions_of(kind: DefectKind) -> tuple[str, ...]:
    """Names of the cautions that go with a kind's first remedies."""
    words = " ".join(kind.remedies[:FIRST_REMEDIES]).lower()
    named = [name for name, words_of_it in _CAUTIONED.items() if words_of_it.search(words)]
    if kind.name == "needle_breaks":
        named.append("broken_needle")
    return tuple(named)


def _action(judged: Judged) -> Action:
    kind = judged.kind
    first = kind.remedies[:FIRST_REMEDIES]
    called = judged.verdict == "more_than_usual"
    head = f"{kind.label} came up more than usual" if called else f"{kind.label} is to be watched"
    if first:
        steps = " ".join(f"({number}) {remedy}" for number, remedy in enumerate(first, start=1))
        says = (
            f"{head}. What the trade usually tries first, in this order: {steps} This is common "
            "practice, for a trained person to weigh; the makers' instructions come first."
        )
    else:
        says = f"{head}. Look at the runs that show most of it, and at what they have in common."
    return Action(
        kind.name, "more_than_usual" if called else "watch", first, cautions_of(kind), says
    )
