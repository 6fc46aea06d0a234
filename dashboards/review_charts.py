"""The charts of the weekly review: what is news this week in the open, the others folded."""

from __future__ import annotations

from html import escape

import plotly.graph_objects as go
import streamlit as st

from dashboards import review_titles
from dashboards.showing import address_of, plain_markdown, show_figure
from logbook.questions.control.result import ControlResult
from logbook.questions.control.words import READING, sentences
from logbook.questions.costs import figure as costs
from logbook.questions.costs.result import CostsResult
from logbook.questions.costs.words import headline, not_drawn
from logbook.questions.review.reviewed import ReviewedWeek
from logbook.questions.review.words.charts import chart_words
from logbook.report.figure_svg import figure_svg
from logbook.report.review import chart_figure

HOW_TO_READ = "How to read the charts: the line, the band and the triangles"


def what_cost_most(result: CostsResult) -> None:
    """Say what cost most, with its chart folded below where there is more than one bar."""
    if not result.costed.total_count:
        return
    st.subheader("What cost most" if result.by_cost else "What came up most", anchor="cost")
    st.write(plain_markdown(headline(result)))
    st.caption("[What each kind has cost over other days](/costs)")
    if result.only is None and result.drawn:
        with st.expander(plain_markdown(review_titles.dearest(result))):
            _costs(result)
            if words := not_drawn(result):
                st.caption(plain_markdown(words))


def over_the_weeks(result: ReviewedWeek) -> None:
    """Draw the weeks up to this one with every signal in words."""
    if not result.charts:
        return
    st.subheader("Over the last weeks", anchor="charts")
    with st.expander(HOW_TO_READ):
        st.caption(READING)
    for each in result.charts:
        with st.container(key=f"chart-block-{each.kind.name}"):
            if is_news(each, result):
                _control(each, result)
                _further(each, folded=True)
            else:
                with st.expander(plain_markdown(review_titles.over_the_weeks(each, result))):
                    _control(each, result)
                    _further(each, folded=False)


def is_news(chart: ControlResult, result: ReviewedWeek) -> bool:
    """Whether a meeting has to see it: the week itself is worse than usual, or to be watched."""
    worse = {signal.label for signal in chart.signals if signal.direction == "above"}
    called = any(
        each.judged.kind.name == chart.kind.name
        and (each.judged.watch or each.judged.verdict == "more_than_usual")
        for each in result.rows
    )
    return called or result.week in worse


def _costs(result: CostsResult) -> None:
    with st.container(key="screen-only-pareto"):
        show_figure(costs.draw, result, key="pareto")
    words = "Cost by kind of defect" if result.by_cost else "How often each kind of defect came up"
    _on_paper(words, costs.draw(result))


def _control(chart: ControlResult, result: ReviewedWeek) -> None:
    name = chart.kind.name
    st.write(plain_markdown(chart_words(chart, result)))
    with st.container(key=f"screen-only-{name}"):
        show_figure(chart_figure, chart, key=f"control-{name}")
    _on_paper(f"{chart.kind.label} by {chart.by}", chart_figure(chart))


def _further(chart: ControlResult, *, folded: bool) -> None:
    said = sentences(chart)
    if not said:
        return
    lines = "\n".join(f"- {plain_markdown(each)}" for each in said)
    if folded and len(said) > 1:
        with st.expander(review_titles.further_signals(chart)):
            st.markdown(lines)
    else:
        st.markdown(lines)


def _on_paper(words: str, figure: go.Figure) -> None:
    """Draw it for print; as a picture, since elements of drawings are not let in."""
    drawing = figure_svg(figure)
    if drawing is not None:
        source = address_of(drawing)
        st.html(f'<div class="print-only"><img alt="{escape(words)}" src="{source}"></div>')
