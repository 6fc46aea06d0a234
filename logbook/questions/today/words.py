"""What is said of how things stand, in a few words."""

from __future__ import annotations

from logbook.calendar_weeks import days_words
from logbook.questions.today.result import Course, TodayResult
from logbook.wording import money, number, rate_only

STANDS = {
    "above": "more than usual",
    "below": "less than usual",
    "usual": "as usual",
    "unknown": "",
}


def title(result: TodayResult) -> str:
    """Say the day."""
    return f"today, {result.day:%A} {result.day.day} {result.day:%B}"


def headline(result: TodayResult) -> str:
    """Say how many things wait, and whether the newest week is as usual."""
    if result.week is None:
        return "No runs yet: log the first one, or bring in a sheet."
    held = sum(each.sort == "held" for each in result.needs)
    rest = len(result.needs) - held
    waits = [
        *([f"{held} {'run is' if held == 1 else 'runs are'} held"] if held else []),
        *([f"{rest} {'action' if rest == 1 else 'actions'} open"] if rest else []),
    ]
    said = f"{', '.join(waits)}." if waits else "Nothing waits for anybody."
    judged = [each for each in result.courses if each.measured != "pieces"]
    odd = [
        f"{STANDS[stands]}: {', '.join(named)}"
        for stands in ("above", "below")
        if (named := [each.label.lower() for each in judged if each.stands == stands])
    ]
    week = f"Week of {days_words(result.week)}"
    return f"{said} {week}, {'; '.join(odd) if odd else 'all as usual'}."


def pressing(result: TodayResult) -> tuple[str, ...]:
    """The headline says what presses."""
    del result
    return ()


def sentences(result: TodayResult) -> tuple[str, ...]:
    """What needs somebody, one by one."""
    return tuple(each.says for each in result.needs)


def notes(result: TodayResult) -> tuple[str, ...]:
    """What is drawn as usual."""
    if not any(each.usual for each in result.courses):
        return ()
    return (
        "The band is what is usual: for rates the limits of the control chart by week, for "
        "pieces and money where nine in ten of the weeks before lay. What is usual need not be "
        "good.",
    )


def newest(course: Course, currency: str) -> str:
    """Say the figure of the newest week."""
    value = course.values[-1]
    if value is None:
        return "not known"
    if course.measured == "money":
        return money(value, currency)
    if course.measured == "pieces":
        return number(value)
    return rate_only("pieces" if course.measured == "share" else "events", value)
