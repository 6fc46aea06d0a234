"""The parts of the weekly review page, in the order in which a meeting goes through them."""

from __future__ import annotations

import streamlit as st

from dashboards.showing import plain_markdown, show_figure
from dashboards.tables import Cell, Heading, table
from logbook.analysis.review import Defect, ReviewResult
from logbook.answers.questions import ReviewCharts
from logbook.charts import control, pareto
from logbook.short_figures import count_short, interval_short, money_short, rate_short
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

TONES = {"more_than_usual": "alarm", "less_than_usual": "relief"}
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
        names = ", ".join(plain_markdown(run.run_ref) for run in result.held)
        st.error(f"**Held: {names}.** {BROKEN_NEEDLE_HELD}")


def how_much(result: ReviewResult) -> None:
    """Write the kinds in the order of their cost, each with its verdict."""
    if not result.rows:
        return
    st.subheader("How much went wrong")
    by_cost = result.ordered_by == "cost"
    cost = (Heading(f"Cost, {result.currency}", figures=True, wide_only=True),) if by_cost else ()
    table(
        (*HEADINGS, *cost),
        [_row(each, by_cost=by_cost) for each in result.rows],
        caption=f"Defects of week {result.week}, dearest first",
    )


def sentences(result: ReviewResult) -> None:
    """Say what is more than luck, and what changed beside it."""
    _listed("More than luck, or worth watching", [each.says for each in result.standing_out])
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
        st.write(plain_markdown(found.pareto.finding()))
        show_figure(pareto.draw, found.pareto, key="pareto")
    if found.control:
        st.subheader("Over the last weeks")
    for each in found.control:
        st.write(plain_markdown(each.finding()))
        show_figure(control.draw, each, key=f"control-{each.kind.name}")


def _row(each: Defect, *, by_cost: bool) -> list[str | Cell]:
    judged = each.judged
    measure = judged.kind.measure
    tone = "watch" if judged.watch else TONES.get(judged.verdict, "")
    row: list[str | Cell] = [
        judged.kind.label,
        count_short(measure, judged.count, judged.exposure),
        rate_short(measure, judged.rate),
        interval_short(measure, judged.interval),
        rate_short(measure, judged.rate_before),
        Cell(each.verdict_words.capitalize(), tone),
    ]
    if by_cost:
        row.append(money_short(each.amount))
    return row


def _listed(heading: str, lines: list[str], *, plain: bool = True) -> None:
    if lines:
        st.subheader(heading)
        st.markdown("\n".join(f"- {plain_markdown(line) if plain else line}" for line in lines))
