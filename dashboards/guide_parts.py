"""The parts of the defect guide: the wall of pictures, and the page of one kind."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from urllib.parse import urlencode

import streamlit as st

from dashboards.shared import column_of
from dashboards.showing import address_of, plain_markdown
from logbook.assets import drawing
from logbook.vocabulary import CAUTIONS, DefectKind
from logbook.vocabulary.cautions import cautions_named
from logbook.vocabulary.defects.damage import DAMAGE
from logbook.vocabulary.defects.events import EVENTS
from logbook.vocabulary.defects.formation import FORMATION
from logbook.vocabulary.defects.lookalikes import easily_taken_for
from logbook.vocabulary.defects.looks import LOOKS

GROUPS: tuple[tuple[str, tuple[DefectKind, ...]], ...] = (
    ("How the finished stitching looks", LOOKS),
    ("How the stitches formed", FORMATION),
    ("Damage and handling", DAMAGE),
    ("Stops while sewing", EVENTS),
)
NOT_A_CERTIFICATE = next(each.says for each in CAUTIONS if each.name == "no_safety_certificate")


def gallery(kinds: Sequence[DefectKind]) -> None:
    """Show all kinds side by side: what is on the table is found by its looks."""
    st.markdown("Find by eye what you have on the table; a picture leads to what to do about it.")
    own = tuple(each for each in kinds if each.own)
    shown = (*GROUPS, ("The shop's own kinds", own)) if own else GROUPS
    for title, group in shown:
        st.subheader(title)
        cards = "".join(f"<li>{_card(each)}</li>" for each in group)
        st.html(f'<ul class="kinds">{cards}</ul>')


def entry(chosen: DefectKind, kinds: Sequence[DefectKind]) -> None:
    """Show one kind: pictures, how to judge and count it, what to try first, what to mind."""
    st.html('<a class="to-all" href="?" target="_self">← All kinds</a>')
    st.header(plain_markdown(chosen.label))
    _pictures(chosen)
    left, right = st.columns(2, gap="large")
    with left:
        st.subheader("How to judge it by eye")
        st.markdown(plain_markdown(chosen.definition))
        _lookalikes(chosen, kinds)
        st.subheader("What it is counted against")
        st.markdown(_counted(chosen))
        _levers(chosen)
    with right:
        _remedies(chosen)
        for caution in cautions_named(*chosen.cautions):
            st.warning(f"**Mind:** {caution.says}")
    address = escape("runs?" + urlencode({"showing": chosen.name}))
    st.html(
        f'<a class="to-all" href="{address}" target="_self">Runs in this book that showed it</a>'
    )
    st.caption(NOT_A_CERTIFICATE)


def _card(each: DefectKind) -> str:
    drawn = drawing(each.name, dark=_dark())
    address = escape("?" + urlencode({"kind": each.name}))
    words = each.definition if drawn is None else drawn.words
    picture = ""
    if drawn is not None:
        picture = f'<img src="{address_of(drawn.svg)}" alt="" width="320" height="240">'
    return (
        f'<a href="{address}" target="_self">{picture}<span class="name">{escape(each.label)}'
        f'</span><span class="words">{escape(words)}</span></a>'
    )


def _pictures(chosen: DefectKind) -> None:
    sound = drawing(chosen.name, side="sound", dark=_dark())
    faulty = drawing(chosen.name, dark=_dark())
    if sound is None or faulty is None:
        st.info("This is a kind of the shop's own: there is no picture of it here.")
        return
    figures = "".join(
        f'<figure class="{side}"><img src="{address_of(drawn.svg)}" '
        f'alt="{escape(f"Drawing. {drawn.words}")}" width="320" height="240">'
        f"<figcaption><strong>{name}.</strong> {escape(drawn.words)}</figcaption></figure>"
        for side, name, drawn in (
            ("sound", "As it should be", sound),
            ("faulty", "The defect", faulty),
        )
    )
    st.html(f'<div class="pair">{figures}</div>')


def _lookalikes(chosen: DefectKind, kinds: Sequence[DefectKind]) -> None:
    labels = {each.name: each.label for each in kinds}
    taken_for = [
        f"- [{plain_markdown(labels[other])}](guide?kind={other}): {plain_markdown(tell)}"
        for other, tell in easily_taken_for(chosen.name)
    ]
    if taken_for:
        st.markdown("\n".join(["**Easily taken for**", "", *taken_for]))


def _counted(chosen: DefectKind) -> str:
    if chosen.measure == "pieces":
        words = "Count the **pieces that show it**, once each, out of the pieces inspected."
    else:
        words = "Count it **each time that it happens**, against the stitches sewn."
    if not chosen.charged_to_setup:
        words += " It is kept apart and never charged to the setup."
    return f"{words} Leave the count empty where nobody looked: empty is not zero."


def _levers(chosen: DefectKind) -> None:
    if chosen.usual_levers:
        names = ", ".join(column_of(each).label.lower() for each in chosen.usual_levers)
        st.markdown(f"**What usually moves it, the strongest first:** {names}.")


def _remedies(chosen: DefectKind) -> None:
    st.subheader("What to try first")
    if not chosen.remedies:
        st.markdown(
            "This kind is the shop's own: what helps against it is for the shop to find out. "
            "*Factors* shows what goes with it once enough runs are logged."
        )
        return
    tried = "\n".join(f"{place}. {each}" for place, each in enumerate(chosen.remedies, start=1))
    st.markdown(tried)
    st.caption(
        "Common practice, in the order in which it is usually tried; not measured in this book. "
        f"Rests on: {chosen.source}."
    )


def _dark() -> bool:
    return bool(st.context.theme.type == "dark")
