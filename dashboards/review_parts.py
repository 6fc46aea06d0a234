"""The parts of the weekly review page, in the order in which a meeting goes through them."""

from __future__ import annotations

from base64 import b64encode
from html import escape
from urllib.parse import quote

import streamlit as st

from dashboards.showing import address_of, plain_markdown, show_figure
from dashboards.tables import Cell, Heading, table
from logbook.analysis.review import Defect, ReviewResult
from logbook.answers.questions import ReviewCharts
from logbook.answers.small_photos import RunPhotos
from logbook.charts import control, paper, pareto
from logbook.charts.control import READING
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


WAYS = {
    "Charts": "charts",
    "Runs to look at": "runs-to-look-at",
    "Last actions": "last-actions",
    "This week's action": "this-week",
}
"""Parts of the page that its head leads to, with their anchors."""


def ways() -> None:
    """Lead to the parts of the page."""
    links = "".join(
        f'<a href="#{anchor}" target="_self">{escape(words)}</a>' for words, anchor in WAYS.items()
    )
    st.html(f'<nav class="ways" aria-label="Parts of this page">{links}</nav>')


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
    _listed("More than luck, or worth watching", [each.says for each in result.standing_out])


def changed(result: ReviewResult) -> None:
    """Say what changed beside it."""
    _listed("What changed in the setup", [each.says for each in result.changed])


def charts(found: ReviewCharts) -> None:
    """Draw what cost most, then the weeks up to this one with every signal in words."""
    if found.pareto is not None and found.pareto.costed.total_count:
        by_cost = found.pareto.costed.ordered_by == "cost"
        st.subheader("What cost most" if by_cost else "What came up most")
        st.write(plain_markdown(found.pareto.finding()))
        with st.container(key="screen-only-pareto"):
            show_figure(pareto.draw, found.pareto, key="pareto")
        _on_paper("Cost by kind of defect", paper.pareto(found.pareto))
    if found.control:
        st.subheader("Over the last weeks", anchor=WAYS["Charts"])
        st.caption(READING)
    for each in found.control:
        name = each.kind.name
        with st.container(key=f"chart-block-{name}"):
            st.write(plain_markdown(each.finding()))
            with st.container(key=f"screen-only-{name}"):
                show_figure(control.draw, each, key=f"control-{name}")
            _on_paper(f"{each.kind.label} by {each.by}", paper.control(each))
            if further := each.further_signals():
                st.markdown("\n".join(f"- {plain_markdown(says)}" for says in further))


def _on_paper(words: str, drawing: str) -> None:
    """Draw it a second time for print; as a picture, since elements of drawings are not let in."""
    source = address_of(drawing)
    st.html(f'<div class="print-only"><img alt="{escape(words)}" src="{source}"></div>')


def runs_to_look_at(result: ReviewResult, found: ReviewCharts) -> None:
    """List the runs with their photos; each leads to all that was recorded of it."""
    if result.look_at:
        st.subheader("Runs to look at", anchor=WAYS["Runs to look at"])
        items = "".join(
            f'<li><a href="{escape(run_address(each.run_ref))}" target="_self">'
            f"{escape(each.run_ref)}</a>: {escape(each.why)}"
            f"{_photos(each.run_ref, found.photos.get(each.run_ref))}</li>"
            for each in result.look_at
        )
        st.html(f'<ul class="runs-to-look-at">{items}</ul>')
    _listed("Came in with the goods", [each.says for each in result.kept_apart])


def where_to_look(result: ReviewResult) -> None:
    """Say what is usually tried first, with its cautions."""
    _listed("Where to look first (common practice)", [each.says for each in result.actions])
    for caution in result.cautions:
        st.warning(caution)


def run_address(run_ref: str) -> str:
    """Where the page of a run is."""
    return f"/runs?run={quote(run_ref, safe='')}"


def _photos(run_ref: str, photos: RunPhotos | None) -> str:
    if photos is None:
        return ""
    pictures = "".join(
        f'<img alt="{escape(f"Photo of run {run_ref}")}" '
        f'src="data:image/jpeg;base64,{b64encode(each).decode()}">'
        for each in photos.shown
    )
    rest = f"<span>{photos.others_words}</span>" if photos.others else ""
    return f'<div class="photos">{pictures}{rest}</div>'


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


def _listed(heading: str, lines: list[str]) -> None:
    if lines:
        st.subheader(heading)
        st.markdown("\n".join(f"- {plain_markdown(line)}" for line in lines))
