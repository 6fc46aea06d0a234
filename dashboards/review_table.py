"""The week's kinds of defect as a table: what stands out in sight, the rest folded."""

from __future__ import annotations

import streamlit as st

from dashboards import review_titles
from logbook.questions.review.reviewed import Defect, ReviewedWeek
from logbook.questions.review.tables import of_rows, tables
from logbook.report.tables import table_html

IN_SIGHT = 5
"""Kinds that are read without unfolding; more where more stand out."""
WORTH_FOLDING = 3


def how_much(result: ReviewedWeek) -> None:
    """Write the kinds in the order of their cost, each with its verdict."""
    if not result.rows:
        return
    st.subheader("How much went wrong", anchor="how-much")
    seen, rest = in_sight(result)
    with st.container(key="review-table"):
        (whole,) = tables(result)
        st.html(table_html(of_rows(result, seen, whole.caption)))
        if rest:
            with st.expander(review_titles.kinds_left(rest)):
                further = f"Further defects of week {result.week}"
                st.html(table_html(of_rows(result, rest, further)))


def in_sight(result: ReviewedWeek) -> tuple[list[Defect], list[Defect]]:
    """Part the rows: any defect, what stands out and the dearest, and those that may be folded.

    Parameters
    ----------
    result
        The review.

    Returns
    -------
    tuple
        Both in the order of the review; the second is empty where folding saves nothing.
    """
    rows = list(result.rows)
    if len(rows) < IN_SIGHT + WORTH_FOLDING:
        return rows, []
    first = {id(each) for each in result.standing_out}
    if result.any_defect is not None:
        first.add(id(result.any_defect))
    for each in rows:
        if len(first) >= IN_SIGHT:
            break
        first.add(id(each))
    rest = [each for each in rows if id(each) not in first]
    if len(rest) < WORTH_FOLDING:
        return rows, []
    return [each for each in rows if id(each) in first], rest
