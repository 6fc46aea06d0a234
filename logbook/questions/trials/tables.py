"""Every kind of defect in both arms, the pairs one by one, and the trials of the book."""

from __future__ import annotations

from logbook.questions.table import Cell, Heading, Table, table
from logbook.questions.trials.result import TrialJudged, TrialsResult
from logbook.questions.trials.words import kind_words
from logbook.runs.factors import factor_label
from logbook.wording import number

FEWER = "points; events per 100,000 stitches"


def tables(result: TrialsResult) -> tuple[Table, ...]:
    """Kinds and pairs of the judged trial; without one the list."""
    if result.judged is None:
        return (_list(result),)
    return (_kinds(result.judged), _pairs(result.judged), _list(result, folded=True))


def _kinds(judged: TrialJudged) -> Table:
    headings = (
        Heading("Kind"),
        Heading("as now", figures=True),
        Heading("changed", figures=True),
        Heading("difference", figures=True),
        Heading("interval", figures=True, wide_only=True),
    )
    rows: list[list[str | Cell]] = [
        [Cell(words[0], tone="alarm" if each.worse else ""), *words[1:]]
        for each, words in zip(judged.kinds, kind_words(judged), strict=True)
    ]
    return table("Every kind of defect", headings, rows, legend=f"Differences in {FEWER}.")


def _pairs(judged: TrialJudged) -> Table:
    headings = (
        Heading("Pair", figures=True),
        Heading("first"),
        Heading("as now"),
        Heading("changed"),
        Heading("counts"),
    )
    rows: list[list[str | Cell]] = []
    for each in judged.sewn.pairs:
        why = ", ".join(factor_label(name).lower() for name in each.differs)
        order = " (drawn the other way)" if each.out_of_order else ""
        rows.append(
            [
                number(each.number),
                f"{each.first}{order}",
                ", ".join(each.now.refs),
                ", ".join(each.changed.refs),
                Cell("yes") if each.counts else Cell(f"no: {why}", tone="watch"),
            ]
        )
    return table("Pairs as sewn", headings, rows, folded=True)


def _list(result: TrialsResult, *, folded: bool = False) -> Table:
    headings = (
        Heading("Trial"),
        Heading("what is tried"),
        Heading("state"),
        Heading("pairs", figures=True, wide_only=True),
        Heading("what came of it"),
    )
    rows: list[list[str | Cell]] = [
        [
            each.ref,
            each.trial.title,
            each.trial.state,
            number(each.trial.pairs),
            each.trial.says or "",
        ]
        for each in result.trials[::-1]
    ]
    return table("Trials of this book", headings, rows, folded=folded)
