"""What is said of each kind of defect, as it would be read aloud."""

from __future__ import annotations

from logbook.questions.review.data import WEEKS_BEFORE
from logbook.questions.review.judging import (
    ENOUGH_EXPECTED,
    FEWEST_WEEKS,
    WEEKS_TOGETHER,
    Judged,
    Verdict,
)
from logbook.questions.review.reviewed import Defect
from logbook.wording import count_words, interval_words, number, rate_only, rate_words

FEWEST_SAID = 0.1
"""Smaller numbers expected are said as fewer than that."""

VERDICT_WORDS: dict[Verdict, str] = {
    "more_than_usual": "more than usual",
    "less_than_usual": "less than usual",
    "as_usual": "as usual",
    "cannot_say": "cannot say",
}
_AS_STRICTLY = "good news, if it was judged as strictly as before"


def says(defect: Defect) -> str:
    """Say one kind of the review's in full."""
    return kind_sentence(defect.judged, defect.looked_at)


def verdict_words(defect: Defect) -> str:
    """Say the verdict as a table does: ``more than usual``, ``as usual, watch``."""
    return VERDICT_WORDS[defect.judged.verdict] + (", watch" if defect.judged.watch else "")


def kind_sentence(judged: Judged, looked_at: int) -> str:
    """Say a kind's week, what was usual before, and whether it is more than luck.

    Parameters
    ----------
    judged
        The kind in the week and before.
    looked_at
        How many kinds were looked at side by side.
    """
    label = judged.kind.label
    if not judged.exposure > 0:
        return f"{label}: nothing recorded this week, so nothing can be said."
    week = rate_words(
        judged.kind.measure, judged.count, judged.exposure, judged.rate, judged.interval
    )
    if not judged.exposure_before > 0:
        return f"{label}: {week}; nothing recorded before to compare it with."
    said = f"{label}: {week}, against {before_words(judged)}: {_verdict(judged)}."
    if judged.watch:
        return f"{said} {_watch(judged, looked_at)}"
    return f"{said} {_good_stretch(judged)}".rstrip()


def before_words(judged: Judged) -> str:
    """Say the rate before, what it rests on and how sure it is."""
    measure = judged.kind.measure
    doubt = interval_words(measure, judged.interval_before)
    counted = count_words(measure, judged.count_before, judged.exposure_before)
    return (
        f"{rate_only(measure, judged.rate_before)} {weeks_words(judged.weeks_before)} "
        f"({counted}, 95 % interval {doubt})"
    )


def weeks_words(weeks: int) -> str:
    """Say which weeks before are meant, those without runs told apart."""
    if weeks == WEEKS_BEFORE:
        return f"in the {WEEKS_BEFORE} weeks before"
    if weeks == 1:
        return f"in the one week with runs of the {WEEKS_BEFORE} before"
    return f"in the {weeks} weeks with runs of the {WEEKS_BEFORE} before"


def why_unsaid(judged: Judged, week: str, runs: int) -> str:
    """Say why a week does not show how a kind went; empty where it does.

    Parameters
    ----------
    judged
        The kind in the week and before.
    week, runs
        The week under review, and its runs.
    """
    if judged.verdict != "cannot_say":
        return ""
    if not judged.exposure > 0:
        return f"In week {week} nothing of this was recorded."
    rests_on = "one run" if runs == 1 else f"{number(runs)} runs"
    seen = count_words(judged.kind.measure, judged.count, judged.exposure)
    said = f"Week {week}, {rests_on}: {seen}"
    if judged.weeks_before < FEWEST_WEEKS:
        return f"{said}; too early to tell, with fewer than {FEWEST_WEEKS} weeks to compare with."
    if judged.expected < FEWEST_SAID:
        return f"{said}, where fewer than {FEWEST_SAID} would be usual: too few to tell."
    return f"{said}, where about {number(judged.expected)} would be usual: too few to tell."


def _verdict(judged: Judged) -> str:
    if judged.verdict == "more_than_usual":
        return "more than luck"
    if judged.verdict == "less_than_usual":
        return f"less than luck explains, {_AS_STRICTLY}"
    if judged.watch:
        return "this week alone may be luck"
    if judged.verdict == "as_usual":
        return "no more than the usual up and down"
    if judged.weeks_before < FEWEST_WEEKS:
        return f"too early to say, with fewer than {FEWEST_WEEKS} weeks to compare with"
    return "too few in a week to tell a change from luck"


def _watch(judged: Judged, looked_at: int) -> str:
    patterns = {
        "beyond_limits": "it passed the upper limit of its weekly chart",
        "two_of_three": "it was far above the usual rate in two of the last three weeks",
        "four_of_five": "it was clearly above the usual rate in four of the last five weeks",
        "run_of_8": f"it has been above the usual rate for {judged.in_a_row} weeks in a row",
    }
    seen = [patterns[rule] for rule in judged.signals if judged.direction == "above"]
    if judged.high_together:
        seen.append(f"its last {WEEKS_TOGETHER} weeks together are above what was usual before")
    if not seen:
        seen = ["it is high for one kind alone"]
    return (
        f"Watch it: {' and '.join(seen)}. With {number(looked_at)} kinds looked at every week, "
        "luck alone does that to one of them now and then."
    )


def _good_stretch(judged: Judged) -> str:
    if (
        judged.direction != "below"
        or "run_of_8" not in judged.signals
        or judged.expected < ENOUGH_EXPECTED
    ):
        return ""
    return (
        f"It has been below the usual rate for {judged.in_a_row} weeks in a row: good news, if it "
        "was judged as strictly as before."
    )
