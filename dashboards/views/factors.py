"""Factors: what goes with a defect on like jobs, answer first, evidence one click away."""

from __future__ import annotations

import streamlit as st

from dashboards.css import heading
from dashboards.narrowing import Narrowing
from dashboards.question_page import asked_and_answered, evidence_of, figure_of, notes_of
from dashboards.shared import book
from dashboards.showing import empty_book, plain_markdown, show_figure
from logbook.questions.factors import QUESTION, curve_figure
from logbook.questions.factors.result import FactorsResult
from logbook.questions.factors.words import headlines, lines

SHOWN_AT_ONCE = 5


def show_headline(result: FactorsResult) -> None:
    """Say what stands out, what can be chosen first."""
    first, *others = headlines(result)
    if others:
        st.markdown(plain_markdown(first))
        first, *others = others
    st.markdown(f"##### {plain_markdown(first)}")
    if others:
        st.markdown("\n".join(f"- {plain_markdown(each)}" for each in others))


def show_curves(result: FactorsResult, narrowing: Narrowing) -> None:
    """Draw how the rate goes along each ordered factor."""
    if any(curve.points for curve in result.curves):
        show_figure(curve_figure.draw, result, key=narrowing.file_name("factor-curves"))


def show_lines(result: FactorsResult) -> None:
    """Say each finding and trend, the first few at once."""
    said = [f"- {plain_markdown(line)}" for line in lines(result)]
    if said:
        st.subheader("What stands out")
        st.markdown("\n".join(said[:SHOWN_AT_ONCE]))
    if len(said) > SHOWN_AT_ONCE:
        with st.expander(f"{len(said) - SHOWN_AT_ONCE} more"):
            st.markdown("\n".join(said[SHOWN_AT_ONCE:]))


heading(QUESTION.title)
store = book()
if not store.count():
    empty_book(QUESTION.when_empty)
    st.stop()
if "defect" not in st.query_params:
    # One kind tells more of causes than all of them together.
    st.query_params["defect"] = store.shop.kinds[0].name
answer, narrowing = asked_and_answered(QUESTION, store)
show_headline(answer.result)
for warning in answer.pressing:
    st.warning(plain_markdown(warning))
figure_of(answer, narrowing)
show_curves(answer.result, narrowing)
show_lines(answer.result)
evidence_of(answer, narrowing)
notes_of(answer)
