"""The week in words: what happened, what to look at, what was decided."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from logbook.costing import KindCost
from logbook.questions.costs.result import CostsResult
from logbook.questions.review.decided import NOT_A_TRIAL, Decided
from logbook.questions.review.judging import FEWEST_WEEKS
from logbook.questions.review.reviewed import Defect, ReviewedWeek
from logbook.questions.review.words.changes import change_sentence
from logbook.questions.review.words.kinds import says
from logbook.questions.review.words.notes import notes
from logbook.questions.table import Section
from logbook.questions.watch.words import findings
from logbook.questions.watch.words import sections as different_sections
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.wording import money, number, percent

__all__ = [
    "headline",
    "held_names",
    "in_full",
    "notes",
    "pressing",
    "sections",
    "sentences",
    "title",
]

MOST_TOLD = 3
"""So many kinds are told in full beside the headline; the rest are named."""


def title(result: ReviewedWeek) -> str:
    """Say which week."""
    return f"week {result.week} ({result.monday.isoformat()} to {result.sunday.isoformat()})"


def headline(result: ReviewedWeek) -> str:
    """The week in words alone, to be read before the figures."""
    if result.runs == 0:
        return "No runs are recorded in this week."
    said = []
    if result.held:
        runs = "1 run is" if len(result.held) == 1 else f"{len(result.held)} runs are"
        said.append(f"{runs} held for missing needle parts.")
    for words, kinds in (
        ("More than usual", _called(result, "more_than_usual")),
        ("Less than usual", _called(result, "less_than_usual")),
        ("To be watched", [each for each in result.defects if each.judged.watch]),
    ):
        if kinds:
            names = ", ".join(each.judged.kind.label.lower() for each in kinds)
            said.append(f"{words}: {names}.")
    loud = any(words.startswith(("More", "Less", "To be")) for words in said)
    return " ".join([*said, *_quiet(result, loud=loud)])


def pressing(result: ReviewedWeek) -> tuple[str, ...]:
    """What is different and where, before any figures of the kinds; news alone."""
    if result.different is None:
        return ()
    return tuple(findings.news(each) + "." for each in result.different.news)


def sentences(result: ReviewedWeek) -> tuple[str, ...]:
    """The week in figures: how much was sewn, how much had any defect, what cost most."""
    if result.runs == 0:
        return (in_full(result),)
    said = [f"{_dates(result)}: {_runs(result.runs)}."]
    if result.any_defect is not None:
        said.append(says(result.any_defect))
    if dearest := _dearest(result.costs):
        said.append(dearest)
    return tuple(said)


def in_full(result: ReviewedWeek) -> str:
    """Say the week aloud with its figures: how much, more than usual or not, what cost most."""
    if result.runs == 0:
        return f"{_dates(result)}: no runs are recorded, so there is nothing to review."
    said = [f"{_dates(result)}: {_runs(result.runs)}."]
    if held := len(result.held):
        said.append(
            f"{number(held)} {'is' if held == 1 else 'are'} held until every part of a broken "
            "needle is found."
        )
    if result.any_defect is not None:
        said.append(says(result.any_defect))
    more, less = _called(result, "more_than_usual"), _called(result, "less_than_usual")
    said += [says(each) for each in more[:MOST_TOLD]]
    if len(more) > MOST_TOLD:
        said.append(f"More than usual too: {_labels(more[MOST_TOLD:])}.")
    if less:
        said.append(f"Less than usual: {_labels(less)}.")
    if watched := [each for each in result.defects if each.judged.watch]:
        said.append(f"To be watched: {_labels(watched)}.")
    if not more and _called(result, "as_usual"):
        said.append("No kind of defect came up more than usual.")
    if dearest := _dearest(result.costs):
        said.append(dearest)
    return " ".join(said)


def held_names(result: ReviewedWeek) -> str:
    """Name every held run, those of other weeks with their day; empty where there is none."""
    others = (f"{each.run_ref} of {each.day_words()}" for each in result.held_in_other_weeks)
    return ", ".join((*(each.run_ref for each in result.held), *others))


def sections(result: ReviewedWeek) -> tuple[Section, ...]:
    """What a meeting goes through after the figures; held runs are above all."""
    before = result.decided_before
    compared = any(each.outcome is not None for each in before)
    held = held_names(result)
    told = (
        Section("HELD", (held, BROKEN_NEEDLE_HELD) if held else (), alarm=True),
        *(() if result.different is None else different_sections(result.different)),
        Section("More than luck, or worth watching", _each(result.standing_out)),
        Section("What changed in the setup", tuple(map(change_sentence, result.changed))),
        Section("Runs to look at", tuple(f"{each.run_ref}: {each.why}" for each in result.look_at)),
        Section("Came in with the goods", _each(result.kept_apart)),
        Section(
            "Last actions, and whether they worked",
            _decided(before[::-1]),
            note=NOT_A_TRIAL if compared else "",
        ),
        Section(
            "Where to look first (common practice)",
            tuple(each.says for each in result.actions),
            cautions=result.cautions,
        ),
        Section("This week's action", _decided(result.decided_now)),
    )
    return tuple(each for each in told if each.lines or each.cautions)


def _quiet(result: ReviewedWeek, *, loud: bool) -> tuple[str, ...]:
    """Say the kinds that nothing is called of: as usual, or too little known to say."""
    usual, unsaid = _called(result, "as_usual"), _called(result, "cannot_say")
    if len(unsaid) == len(result.defects):
        if unsaid and all(each.judged.weeks_before < FEWEST_WEEKS for each in unsaid):
            return ("There are too few weeks on record to say what is usual.",)
        return ("Too little was recorded in this week to say how any kind of defect went.",)
    if not usual:
        return ()
    if len(unsaid) > len(usual):
        others = "the others that are not named" if loud else "the others"
        how = "to say how most kinds of defect went"
        return (f"Too little was recorded in this week {how}; {others} as usual.",)
    if unsaid:
        rest = "The rest" if loud else "All kinds of defect"
        return (f"{rest} as usual, or too seldom seen to say.",)
    return ("Everything else as usual." if loud else "All kinds of defect as usual.",)


def _called(result: ReviewedWeek, verdict: str) -> list[Defect]:
    return [each for each in result.defects if each.judged.verdict == verdict]


def _each(defects: Sequence[Defect]) -> tuple[str, ...]:
    return tuple(says(each) for each in defects)


def _decided(actions: Sequence[Decided]) -> tuple[str, ...]:
    return tuple(f"{each.says}. {each.result}" for each in actions)


def _labels(defects: Sequence[Defect]) -> str:
    names = [each.judged.kind.label for each in defects]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _dearest(costs: CostsResult) -> str | None:
    first: KindCost | None = costs.costed.kinds[0] if costs.costed.kinds else None
    if first is None or first.count == 0:
        return None
    thing = "pieces" if first.kind.measure == "pieces" else "events"
    if not costs.by_cost or not first.cost > 0:
        return f"{first.kind.label} came up most often: {number(first.count)} {thing}."
    if all(each.cost == 0 for each in costs.costed.kinds[1:] if each.count > 0):
        cost, name = money(first.cost, costs.currency), first.kind.label.lower()
        return f"Only {name} cost anything: {cost} ({number(first.count)} {thing})."
    return (
        f"{first.kind.label} cost most: {money(first.cost, costs.currency)}, "
        f"{percent(first.share_of_cost, 0)} of the cost of defects ({number(first.count)} {thing})."
    )


def _dates(result: ReviewedWeek) -> str:
    """Say the week and its days: ``Week 2026-W41 (5 October to 11 October 2026)``."""
    return (
        f"Week {result.week} ({_day(result.monday)} to {_day(result.sunday)} {result.sunday.year})"
    )


def _day(day: date) -> str:
    return f"{day.day} {day:%B}"


def _runs(runs: int) -> str:
    return f"{number(runs)} run{'' if runs == 1 else 's'}"
