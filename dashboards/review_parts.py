"""The parts of the weekly review page, in the order in which a meeting goes through them."""

from __future__ import annotations

import streamlit as st

from dashboards.showing import show_figure
from dashboards.tables import Cell, Heading, table
from logbook.analysis.review import Defect, ReviewResult
from logbook.answers.questions import ReviewCharts
from logbook.charts import control, pareto
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.wording import ABSENT, interval_short, money, number, rate_short

VERDICTS = {
    "more_than_usual": Cell("More than usual", "alarm"),
    "less_than_usual": Cell("Less than usual", "relief"),
    "as_usual": Cell("As usual"),
    "cannot_say": Cell("Cannot say"),
}
HEADINGS = (
    Heading("Defect"),
    Heading("This week", figures=True, wide_only=True),
    Heading("Rate", figures=True),
    Heading("95 % interval", figures=True, wide_only=True),
    Heading("12 weeks before", figures=True, wide_only=True),
    Heading("Verdict"),
)


def held(result: ReviewResult) -> None:
    """Say first which runs must not leave the shop."""
    if result.held:
        names = ", ".join(run.run_ref for run in result.held)
        st.error(f"**Held: {names}.** {BROKEN_NEEDLE_HELD}")


def how_much(result: ReviewResult) -> None:
    """Write the kinds in the order of their cost, each with its verdict."""
    rows = ([result.any_defect] if result.any_defect else []) + list(result.defects)
    if not rows:
        return
    st.subheader("How much went wrong")
    by_cost = result.ordered_by == "cost"
    cost = (Heading(f"Cost, {result.currency}", figures=True, wide_only=True),) if by_cost else ()
    table(
        (*HEADINGS, *cost),
        [_row(each, by_cost=by_cost) for each in rows],
        caption=f"Defects of week {result.week}, dearest first",
    )


def sentences(result: ReviewResult) -> None:
    """Say what is more than luck, and what changed beside it."""
    loud = [
        each.says
        for each in result.defects
        if each.judged.watch or each.judged.verdict in ("more_than_usual", "less_than_usual")
    ]
    _listed("More than luck, or worth watching", loud)
    _listed("What changed in the setup", [each.says for each in result.changed])


def runs_and_actions(result: ReviewResult) -> None:
    """List the runs to look at and what is usually tried first."""
    _listed(
        "Runs to look at",
        [
            f"**{plain_markdown(each.run_ref)}**: {plain_markdown(each.why)}"
            for each in result.look_at
        ],
        plain=False,
    )
    _listed("Where to look first (common practice)", [each.says for each in result.actions])
    for caution in result.cautions:
        st.warning(caution)
    _listed("Came in with the goods", [each.says for each in result.kept_apart])


def charts(found: ReviewCharts) -> None:
    """Draw what cost most, then the weeks up to this one."""
    if found.pareto is not None and found.pareto.costed.total_count:
        by_cost = found.pareto.costed.ordered_by == "cost"
        st.subheader("What cost most" if by_cost else "What came up most")
        st.write(found.pareto.finding())
        show_figure(pareto.draw, found.pareto, key="pareto")
    if found.control:
        st.subheader("Over the last weeks")
    for each in found.control:
        st.write(each.finding())
        show_figure(control.draw, each, key=f"control-{each.kind.name}")


def _row(each: Defect, *, by_cost: bool) -> list[str | Cell]:
    judged = each.judged
    measure, exposure = judged.kind.measure, judged.exposure
    counted = (
        f"{number(judged.count)} of {number(exposure)}"
        if measure == "pieces"
        else f"{number(judged.count)} in {exposure / 1e6:,.2f} M stitches"
    )
    verdict = VERDICTS[judged.verdict]
    row: list[str | Cell] = [
        judged.kind.label,
        counted,
        rate_short(measure, judged.rate),
        interval_short(measure, judged.interval),
        rate_short(measure, judged.rate_before),
        Cell(f"{verdict.words}, watch", "watch") if judged.watch else verdict,
    ]
    if by_cost:
        unknown = each.cost is None or each.cost.cost != each.cost.cost
        row.append(ABSENT if unknown or each.cost is None else money(each.cost.cost, "").strip())
    return row


def _listed(heading: str, lines: list[str], *, plain: bool = True) -> None:
    if lines:
        st.subheader(heading)
        st.markdown("\n".join(f"- {plain_markdown(line) if plain else line}" for line in lines))


def plain_markdown(text: str) -> str:
    """Keep text of users from being read as Markdown."""
    for mark in "\\`*_{}[]<>#|~$:":
        text = text.replace(mark, f"\\{mark}")
    return text
