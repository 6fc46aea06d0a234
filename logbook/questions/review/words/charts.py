"""What a review says of its charts: what stands out, and never more than the verdict can say."""

from __future__ import annotations

from logbook.questions.control.result import ControlResult
from logbook.questions.control.words import headline, usual
from logbook.questions.review.reviewed import ReviewedWeek
from logbook.questions.review.words.kinds import why_unsaid
from logbook.wording import number


def unsaid(chart: ControlResult, result: ReviewedWeek) -> str:
    """Say why the week does not show how the chart's kind went; empty where it does."""
    judged = result.judged(chart.kind.name)
    return why_unsaid(judged, result.week, result.runs) if judged else ""


def chart_words(chart: ControlResult, result: ReviewedWeek) -> str:
    """Say the usual rate, why nothing is said of the week if so, and what stands out.

    Parameters
    ----------
    chart
        One of the review's.
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
