"""What a review says of its charts: what stands out, and never more than the verdict can say."""

from __future__ import annotations

from dataclasses import replace

from logbook.questions.control.result import ControlResult
from logbook.questions.control.words import headline, usual
from logbook.questions.review.analyse import ReviewResult
from logbook.questions.review.judging import Judged
from logbook.questions.review.sentences import ENOUGH_EXPECTED, why_unsaid
from logbook.wording import number


def as_judged(chart: ControlResult, result: ReviewResult) -> ControlResult:
    """The chart without those signals of the reviewed week that the review does not stand by.

    Where the verdict cannot be said it is none of them; where few are expected, a low week is
    good news only if its verdict says so. Signals of earlier weeks stay.
    """
    judged = _judged(chart, result)
    if judged is None or not result.runs:
        return chart
    worse_only = judged.expected < ENOUGH_EXPECTED and judged.verdict != "less_than_usual"
    kept = tuple(
        signal
        for signal in chart.signals
        if signal.label != result.week
        or not (judged.verdict == "cannot_say" or (worse_only and signal.direction == "below"))
    )
    return replace(chart, signals=kept)


def unsaid(chart: ControlResult, result: ReviewResult) -> str:
    """Say why the week does not show how the chart's kind went; empty where it does."""
    judged = _judged(chart, result)
    return why_unsaid(judged, result.week, result.runs) if judged else ""


def chart_words(chart: ControlResult, result: ReviewResult) -> str:
    """Say the usual rate, why nothing is said of the week if so, and what stands out.

    Parameters
    ----------
    chart
        From :func:`as_judged`.
    result
        The review that it illustrates.
    """
    why = unsaid(chart, result)
    if not why or chart.points.height < 2:
        return headline(chart)
    weeks = len({signal.label for signal in chart.signals})
    if weeks == 0:
        return f"{usual(chart)}. {why} No week before stands out."
    stood = "1 week before stood" if weeks == 1 else f"{number(weeks)} weeks before stood"
    return f"{usual(chart)}. {why} {stood} out; the last: {chart.signals[-1].says}"


def _judged(chart: ControlResult, result: ReviewResult) -> Judged | None:
    rows = (*result.rows, *result.kept_apart)
    found = [each.judged for each in rows if each.judged.kind.name == chart.kind.name]
    return found[0] if found else None
