"""Rules of thumb that speak to a job, and what the shop's own record says of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from typing_extensions import TypedDict

from logbook.questions.advice.job import Job
from logbook.questions.advice.ranking import Ranked, Weighed
from logbook.questions.advice.suggestion import changes_between, changes_said
from logbook.questions.advice.words import like_runs
from logbook.vocabulary.rules import RULES_OF_THUMB, RuleOfThumb
from logbook.wording import in_hundred, number, percent

_OF_THE_JOB = {
    "fabric",
    "fabric_shade",
    "fabric_stretch",
    "fabric_pile",
    "fabric_sheer",
    "density_band",
}
"""Conditions that no change of setup can lift."""


class RuleJson(TypedDict):
    """A rule of thumb, and what the record says of it."""

    rule: str
    says: str
    why: str
    source: str
    status: str
    record: str


@dataclass(frozen=True, slots=True)
class RuleHere:
    """One rule of thumb that speaks to the job as it would be sewn now.

    ``record`` says in words what the shop's own runs say of it.
    """

    rule: RuleOfThumb
    record: str

    def as_json(self) -> RuleJson:
        """Answer the fields that scripts rely on."""
        return {
            "rule": self.rule.name,
            "says": f"Where {self.rule.if_text}: {self.rule.then_text}",
            "why": self.rule.why,
            "source": f"common practice ({self.rule.status}): {self.rule.source}",
            "status": self.rule.status,
            "record": self.record,
        }


def expected_kinds(job: Job, fabric: Mapping[str, str]) -> frozenset[str]:
    """Kinds of defect that rules of thumb expect of the setup now."""
    words = {name: word for name, word in job.whole().items() if word is not None} | dict(fabric)
    return frozenset(
        kind for rule in RULES_OF_THUMB if rule.speaks_to(words) for kind in rule.expects
    )


def rules_here(job: Job, fabric: Mapping[str, str], ranked: Ranked) -> tuple[RuleHere, ...]:
    """List the rules that speak to the setup now, held against the record.

    Parameters
    ----------
    job
        Job and setup now.
    fabric
        Class and attributes of the fabric, as rules name them.
    ranked
        What the model says of other setups for the job.
    """
    words = {name: word for name, word in job.whole().items() if word is not None} | dict(fabric)
    return tuple(
        RuleHere(rule, _record(rule, job, ranked.weighed))
        for rule in RULES_OF_THUMB
        if rule.speaks_to(words)
    )


def _record(rule: RuleOfThumb, job: Job, weighed: Sequence[Weighed]) -> str:
    """Set the setup now against those that the rule would not speak to."""
    parts = [name for name in rule.conditions if name not in _OF_THE_JOB]
    if not parts:
        return "It is about the goods or the design, so that no other setup can be held against it."
    leaving = [
        each
        for each in weighed
        if each.candidate.parts == 1
        and any(
            name in each.candidate.changes
            and each.candidate.changes[name] not in rule.conditions[name]
            for name in parts
        )
    ]
    if not leaving:
        return (
            "The shop's record cannot tell: too few like runs with another setup (5 runs, 150 "
            "pieces and 2 designs are wanted)."
        )
    best = max(leaving, key=lambda each: each.predicted.support.pieces)
    changes = changes_said(changes_between(job.setup, best.candidate.changes))
    predicted = best.predicted
    chance = predicted.saved.chance_better
    now = predicted.rate + predicted.saved.expected
    verdict = (
        "bears it out"
        if chance >= 0.9
        else "speaks against it"
        if chance <= 0.1
        else "leaves it open"
    )
    return (
        f"The shop's record {verdict}: with {changes}, {percent(predicted.rate)} of pieces would "
        f"have a defect instead of {percent(now)} "
        f"({in_hundred(chance)} that this is fewer; {number(predicted.support.pieces)} pieces in "
        f"{like_runs(predicted.support.runs)})."
        if rule.expects
        else f"With {changes} instead, {percent(predicted.rate)} of pieces would have a defect, "
        f"not {percent(now)} ({in_hundred(chance)} that this is "
        f"fewer; {number(predicted.support.pieces)} pieces in "
        f"{like_runs(predicted.support.runs)})."
    )
