"""Advice in plain words: what to change, what it is expected to save, on what evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.adjusted_comparison.evidence import STRONG, STRONG_BESIDES
from logbook.questions.advice.suggestion import in_sentence, level_said
from logbook.runs.factors import factor_label
from logbook.wording import in_hundred, money, number, percent, percent_interval

if TYPE_CHECKING:
    from logbook.questions.advice.result import AdviceResult
    from logbook.questions.advice.suggestion import Suggestion

_EVIDENCE = {
    "strong": "strong evidence: change it",
    "fair": "fair evidence: try it fairly first",
    "thin": "thin evidence: nothing to promise, worth a trial",
}
HOW_TOLD = (
    "Savings allow for the best of many guesses being partly luck. Single changes come before two "
    "together, thin evidence last."
)
"""Which figure stands where, and what suggestions are in order of."""
NOTICED = 0.001
"""A kind is named where its rate moves by so much, as a fraction of the pieces."""


def title(result: AdviceResult) -> str:
    """Say which job it is about."""
    return f"setup for {result.job.fabric}"


def headline(result: AdviceResult) -> str:
    """Say the best supported change, or that there is none, and what nothing is known of."""
    return f"{_best(result)}{_unseen(result)}"


def pressing(result: AdviceResult) -> tuple[str, ...]:  # noqa: ARG001 - said in the headline
    """What nothing is known of stands in the headline itself."""
    return ()


def sentences(result: AdviceResult) -> tuple[str, ...]:
    """The setup now, each suggestion with its cautions and trial, and what common practice says."""
    suggested = zip(result.suggestions, result.lines(), strict=True)
    return (
        now(result),
        *(
            "\n".join((f"{place}. {said}", *_beneath(each)))
            for place, (each, said) in enumerate(suggested, start=1)
        ),
        *_rules(result),
    )


def notes(result: AdviceResult) -> tuple[str, ...]:
    """What the figures rest on and leave out."""
    return result.notes


def now(result: AdviceResult) -> str:
    """Say the setup that the job starts from, and what to expect of it."""
    parts = (
        (label.lower(), word) for label, word in result.setup_words() if word != "not recorded"
    )
    said = ", ".join(f"{label} {word}" for label, word in parts)
    return (
        f"Now: {said}. Expected: {percent(result.expected_rate)} of pieces with a defect "
        f"({percent(result.level, 0)} interval {percent_interval(result.interval)}), resting on "
        f"{number(result.pieces)} pieces in {like_runs(result.runs)}."
    )


def _beneath(each: Suggestion) -> tuple[str, ...]:
    cautions = (f"Mind: {caution}" for caution in each.cautions)
    if each.trial is None:
        return tuple(cautions)
    more = () if each.trial.too_long else each.trial.notes
    return (*cautions, f"Trial: {' '.join((each.trial.finding(), *more))}")


def _rules(result: AdviceResult) -> tuple[str, ...]:
    if not result.rules:
        return ()
    said = ["What common practice says of the setup now:"]
    for each in result.rules:
        rule = each.rule
        said.append(f"Where {rule.if_text}: {rule.then_text} ({rule.status}, {rule.source})")
        said.append(each.record)
    return ("\n".join(said),)


def _unseen(result: AdviceResult) -> str:
    """Warn of what was told and never sewn."""
    if not result.job.unseen:
        return ""
    names = " or ".join(
        f"{in_sentence(factor_label(name))} {level_said(name, word)}"
        for name, word in result.job.unseen.items()
    )
    return (
        f" Mind: no run on record has {names}. A middling effect is taken, and no interval here "
        "holds that doubt."
    )


def _best(result: AdviceResult) -> str:
    job = _job(result)
    firm = [each for each in result.suggestions if each.evidence != "thin"]
    if firm:
        # What is sure comes before what might save more.
        best = next(
            (each for each in firm if each.evidence == "strong"),
            max(firm, key=lambda each: each.saving_per_100),
        )
        if all(each.may_lose for each in firm):
            return (
                f"For {job}, no change is clearly better; the likeliest is {best.words()}: "
                f"{_saving(result, best)} ({_weight(result, best)}).{_uncounted(best)}"
            )
        return (
            f"For {job}, change {best.words()}: {_saving(result, best)} ({_weight(result, best)})."
            f"{_uncounted(best)}"
        )
    if result.suggestions:
        return (
            f"For {job}, nothing on record is likely enough to beat the setup now. Worth a fair "
            f"trial: {result.suggestions[0].words()}."
        )
    if result.candidates:
        return (
            f"For {job}, keep the setup: none of the {number(result.candidates)} changes that the "
            "record can speak of is expected to save anything."
        )
    return (
        f"For {job}, the record cannot suggest a change: no other setup has 5 runs, 150 pieces "
        "and 2 designs on like jobs."
    )


def _uncounted(each: Suggestion) -> str:
    """Say beside the promise which material it leaves out; the caution says how to mend that."""
    if not each.uncounted:
        return ""
    return f" Not counted in that: {' and '.join(each.uncounted)}, as no price is known."


def line(result: AdviceResult, each: Suggestion) -> str:
    """Say one suggestion with figures, evidence and what it does to each kind."""
    rate = (
        f"{percent(each.expected_rate)} of pieces with a defect instead of "
        f"{percent(result.expected_rate)} ({percent(result.level, 0)} interval "
        f"{percent_interval(each.interval)})"
    )
    return (
        f"Change {each.words()}: {_saving(result, each)}; {rate}. {_kinds(each)}It rests on "
        f"{number(each.pieces)} pieces in {like_runs(each.runs)}; {_weight(result, each)}."
    )


def _saving(result: AdviceResult, each: Suggestion) -> str:
    lower, upper = (money(bound, result.currency) for bound in each.saving_interval)
    doubt = f"{percent(result.level, 0)} interval {lower} to {upper}"
    if each.saving_per_100 <= 0:
        return f"it may save something, or nothing ({doubt})"
    saving = money(each.saving_per_100, result.currency)
    if each.evidence == "thin":
        return f"it may save {saving} per 100 pieces, or nothing ({doubt})"
    verb = "may save" if each.may_lose else "saves"
    return f"it {verb} {saving} per 100 pieces ({doubt})"


def _weight(result: AdviceResult, each: Suggestion) -> str:
    evidence = _EVIDENCE[each.evidence]
    if each.evidence != "strong" and each.trial is not None and each.trial.too_long:
        evidence = f"{each.evidence} evidence, and a trial would be too long to be worth it"
    said = f"{evidence}, {in_hundred(each.chance_better)} that it is better"
    if each.chance_better >= STRONG and each.evidence != "strong" and not result.job.unseen:
        if each.doubted:
            return f"{said}, but common practice or plain counts speak against it"
        if each.saving_per_100 <= 0:
            return f"{said}, but what luck may have added is as much as it saves"
        if len(each.changes) == 1 and each.chance_better < STRONG_BESIDES:
            return f"{said}, which of many that were looked at is not yet sure"
        if len(each.changes) == 1:
            return f"{said}, but luck may have added much of what it saves"
        return f"{said}, but together no surer than the less sure of the two alone"
    return said


def _kinds(each: Suggestion) -> str:
    moved = [kind for kind in each.by_kind if abs(kind.after - kind.before) >= NOTICED]
    moved.sort(key=lambda kind: kind.after - kind.before)
    if not moved:
        return ""
    said = [
        f"{in_sentence(kind.label)} {percent(kind.before)} to {percent(kind.after)}"
        f"{' (up)' if kind.after > kind.before else ''}"
        for kind in moved
    ]
    return f"By kind: {', '.join(said)}. "


def _job(result: AdviceResult) -> str:
    job = result.job
    design = f" with {job.design}" if job.design else ""
    return f"{job.fabric}{design}"


def like_runs(count: int) -> str:
    """Say ``1 like run`` or ``1,204 like runs``."""
    return f"{number(count)} like run{'' if count == 1 else 's'}"
