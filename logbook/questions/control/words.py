"""What a control chart says: the usual rate, whether anything stands out from it, and what."""

from __future__ import annotations

from logbook.questions.control.result import ControlResult, periods
from logbook.questions.control.stretches import told_together
from logbook.wording import rate_words

READING = (
    "The dashed line is the usual rate, the tinted band the usual up and down around it (three "
    "standard errors). A triangle that points up marks what is worse than usual, one that points "
    "down what is better; every one is said in words."
)


def usual(result: ControlResult) -> str:
    """Say the usual rate with its doubt, without a stop."""
    rate = rate_words(
        result.kind.measure,
        result.baseline_count,
        result.baseline_exposure,
        result.centre,
        result.centre_interval,
    )
    said = f"{result.kind.label}: {rate} over {periods(result.baseline_points, result.by)}"
    if result.spread != "laney" or result.points.height < 2:
        return said
    return (
        f"{said} (more between {result.by}s than counting explains, so the doubt is wider than "
        "that)"
    )


def title(result: ControlResult) -> str:
    """Say what is charted."""
    return f"{result.kind.label.lower()}, by {result.by}"


def headline(result: ControlResult) -> str:
    """Say the usual rate with its doubt, and whether anything stands out from it."""
    if result.points.height < 2:
        return f"{usual(result)}; there is nothing to compare it with yet."
    if not result.signals:
        return f"{usual(result)}. No {result.by} stands out from the usual up and down."
    labels = {signal.label for signal in result.signals}
    verb = "stands" if len(labels) == 1 else "stand"
    return f"{usual(result)}. {periods(len(labels), result.by)} {verb} out; the latest: " + (
        result.signals[-1].says
    )


def pressing(result: ControlResult) -> tuple[str, ...]:  # noqa: ARG001 - nothing misleads here
    """Nothing of a chart misleads beside its headline."""
    return ()


def sentences(result: ControlResult) -> tuple[str, ...]:
    """What stands out besides the latest, newest first, stretches told as one."""
    told = told_together(result.signals, result.points["label"].to_list(), result.by)
    latest = result.signals[-1].says if result.signals else ""
    return tuple(says for says in reversed(told) if says != latest)


def notes(result: ControlResult) -> tuple[str, ...]:
    """What to keep in mind of the limits."""
    return result.notes
