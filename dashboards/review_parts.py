"""The parts of the weekly review page, in the order in which a meeting goes through them.

What is read first stands in the open; what it rests on is folded, and unfolded in print.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping, Sequence
from html import escape
from typing import TypeVar
from urllib.parse import quote

import streamlit as st

from dashboards import review_titles
from dashboards.review_table import how_much
from dashboards.showing import plain_markdown
from logbook.book.thumbnails import RunPhotos, thumbnails_of_runs
from logbook.questions.review.reviewed import ReviewedWeek
from logbook.questions.review.runs import RunToLookAt
from logbook.questions.review.words import in_full
from logbook.questions.review.words.changes import change_sentence
from logbook.questions.review.words.kinds import says

__all__ = [
    "changed",
    "how_much",
    "in_figures",
    "run_address",
    "runs_to_look_at",
    "standing_out",
    "to_keep_in_mind",
    "ways",
    "where_to_look",
]

Part = TypeVar("Part")
RUNS_IN_SIGHT = 3
STANDING_OUT_IN_SIGHT = 3


def ways(result: ReviewedWeek) -> None:
    """Lead to the parts that the page has, by their anchors."""
    looked_at = result.different is not None and result.different.looked_at.levels
    parts = (
        ("Different", "different", looked_at),
        ("How much", "how-much", result.rows),
        ("Changes", "what-changed", result.changed),
        ("Cost", "cost", result.costs.costed.total_count),
        ("Charts", "charts", result.charts),
        ("Runs", "runs-to-look-at", result.look_at),
        ("Last actions", "last-actions", True),
        ("Where to look", "where-to-look", result.actions),
        ("This week's action", "this-week", True),
    )
    links = "".join(
        f'<a href="#{anchor}" target="_self">{escape(words)}</a>'
        for words, anchor, there in parts
        if there
    )
    st.html(f'<nav class="ways" aria-label="Parts of this page">{links}</nav>')


def in_figures(result: ReviewedWeek) -> None:
    """Give the figures behind the words at the head."""
    with st.expander(plain_markdown(review_titles.in_figures(result))):
        st.markdown(plain_markdown(in_full(result)))


def standing_out(result: ReviewedWeek) -> None:
    """Say in full what is more than luck, the dearest in sight."""
    kinds = result.standing_out
    if not kinds:
        return
    st.subheader("More than luck, or worth watching")
    seen, rest = _parted(kinds, STANDING_OUT_IN_SIGHT)
    _lines([says(each) for each in seen])
    if rest:
        with st.expander(plain_markdown(review_titles.standing_out_left(rest))):
            _lines([says(each) for each in rest])


def changed(result: ReviewedWeek) -> None:
    """Say what changed beside it; several changes are named first, and told when unfolded."""
    if not result.changed:
        return
    st.subheader("What changed in the setup", anchor="what-changed")
    said = [change_sentence(each) for each in result.changed]
    if len(said) == 1:
        _lines(said)
        return
    with st.expander(plain_markdown(review_titles.changes(result.changed))):
        _lines(said)


def runs_to_look_at(result: ReviewedWeek) -> None:
    """List the runs with their photos; each leads to all that was recorded of it."""
    if result.look_at:
        st.subheader("Runs to look at", anchor="runs-to-look-at")
        photos = thumbnails_of_runs(result.photos)
        seen, rest = _parted(result.look_at, RUNS_IN_SIGHT)
        _runs(seen, photos)
        if rest:
            with st.expander(plain_markdown(review_titles.runs_left(rest))):
                _runs(rest, photos)
    _came_in(result)


def where_to_look(result: ReviewedWeek) -> None:
    """Say what is usually tried first; its cautions are never apart from it."""
    if not result.actions:
        _cautions(result)
        return
    st.subheader("Where to look first (common practice)", anchor="where-to-look")
    with st.expander(plain_markdown(review_titles.usually_tried(result))):
        _lines([each.says for each in result.actions])
        _cautions(result)


def to_keep_in_mind(notes: Sequence[str], record_only: str) -> None:
    """Fold the notes on the figures; what the page is not is always in sight."""
    if notes:
        with st.expander(plain_markdown(review_titles.to_keep_in_mind(notes))):
            for note in notes:
                st.caption(plain_markdown(note))
    st.caption(plain_markdown(record_only))


def run_address(run_ref: str) -> str:
    """Where the page of a run is."""
    return f"/runs?run={quote(run_ref, safe='')}"


def _came_in(result: ReviewedWeek) -> None:
    """Tell the faults of the goods, folded unless one of them is news."""
    if not result.kept_apart:
        return
    st.subheader("Came in with the goods")
    said = [says(each) for each in result.kept_apart]
    if any(each.stands_out for each in result.kept_apart):
        _lines(said)
        return
    with st.expander(plain_markdown(review_titles.came_in(result.kept_apart))):
        _lines(said)


def _runs(runs: Sequence[RunToLookAt], photos: Mapping[str, RunPhotos]) -> None:
    items = "".join(
        f'<li><a href="{escape(run_address(each.run_ref))}" target="_self">'
        f"{escape(each.run_ref)}</a>: {escape(each.why)}"
        f"{_photos(each.run_ref, photos.get(each.run_ref))}</li>"
        for each in runs
    )
    st.html(f'<ul class="runs-to-look-at">{items}</ul>')


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


def _cautions(result: ReviewedWeek) -> None:
    for caution in result.cautions:
        st.warning(caution)


def _lines(lines: Sequence[str]) -> None:
    st.markdown("\n".join(f"- {plain_markdown(line)}" for line in lines))


def _parted(parts: Sequence[Part], in_sight: int) -> tuple[Sequence[Part], Sequence[Part]]:
    """Part what is in sight from what is folded; one alone is not worth folding."""
    if len(parts) <= in_sight + 1:
        return parts, ()
    return parts[:in_sight], parts[in_sight:]
