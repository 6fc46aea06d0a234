"""The parts of the page on factors, answer first."""

from __future__ import annotations

import streamlit as st

from dashboards.narrowing import Narrowing
from dashboards.showing import plain_markdown, show_figure
from dashboards.tables import Cell, Heading, download_figures, table
from logbook.questions.factors import curve_figure as factor_curves
from logbook.questions.factors import figure as drawing
from logbook.questions.factors.analyse import FactorEffect, FactorsResult
from logbook.short_figures import ABSENT, count_short, interval_short, rate_short
from logbook.wording import percent, times, times_interval

SHOWN_AT_ONCE = 5
EVIDENCE = {"strong": "Strong", "fair": "Fair", "thin": "Thin", "none": "None", None: ABSENT}


def answer(result: FactorsResult) -> None:
    """Say the finding, what can be chosen first, and what misleads."""
    first, *others = result.headlines()
    if others:
        st.markdown(plain_markdown(first))
        first, *others = others
    st.markdown(f"##### {plain_markdown(first)}")
    if others:
        st.markdown("\n".join(f"- {plain_markdown(each)}" for each in others))
    for warning in result.warnings:
        st.warning(plain_markdown(warning))


def findings(result: FactorsResult, narrowing: Narrowing) -> None:
    """Draw the ratios and curves, and say each finding."""
    show_figure(drawing.draw, result, key=narrowing.file_name("factors"))
    if any(curve.points for curve in result.curves):
        show_figure(factor_curves.draw, result, key=narrowing.file_name("factor-curves"))
    lines = [f"- {plain_markdown(line)}" for line in result.lines()]
    if lines:
        st.subheader("What stands out")
        st.markdown("\n".join(lines[:SHOWN_AT_ONCE]))
    if len(lines) > SHOWN_AT_ONCE:
        with st.expander(f"{len(lines) - SHOWN_AT_ONCE} more"):
            st.markdown("\n".join(lines[SHOWN_AT_ONCE:]))


def evidence(result: FactorsResult, narrowing: Narrowing) -> None:
    """Open every level on demand, and the doubts."""
    with st.expander(f"The evidence: all {len(result.effects)} levels that were looked at"):
        table(
            (
                Heading("Factor"),
                Heading("Level"),
                Heading("Counted", figures=True, wide_only=True),
                Heading("All jobs", figures=True, wide_only=True),
                Heading("Like jobs", figures=True),
                Heading(f"{percent(result.level, 0)} interval", figures=True, wide_only=True),
                Heading("Times the others'", figures=True),
                Heading("Evidence"),
            ),
            [_row(result, each) for each in result.effects],
            caption="Every level of every factor against the others",
        )
        download_figures(result.table(), name=narrowing.file_name(f"factors-{result.kind.name}"))
    with st.expander("What to keep in mind"):
        for note in result.notes:
            st.markdown(plain_markdown(note))


def _row(result: FactorsResult, each: FactorEffect) -> list[str | Cell]:
    fair, measure = each.fair, result.kind.measure
    ratio: str | Cell = ABSENT
    if each.comparable:
        said = f"{times(fair.ratio).removesuffix(' times')} ({times_interval(fair.ratio_interval)})"
        tone = "" if not fair.finding else "alarm" if fair.ratio > 1 else "relief"
        ratio = Cell(said, tone)
    return [
        each.factor_label,
        each.level_label,
        count_short(measure, fair.count, fair.exposure, millions="million"),
        rate_short(measure, fair.crude_rate),
        rate_short(measure, fair.rate) if each.comparable else ABSENT,
        interval_short(measure, fair.rate_interval) if each.comparable else ABSENT,
        ratio,
        EVIDENCE[each.evidence],
    ]
