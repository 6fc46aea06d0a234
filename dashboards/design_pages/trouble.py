"""Where defects sit on a design, and where its threads break."""

from __future__ import annotations

import streamlit as st

from dashboards.shared import explain
from dashboards.showing import picture, plain_markdown
from logbook.charts.design import draw_density
from logbook.errors import AnalysisError
from logbook.questions.breaks import words
from logbook.questions.breaks.asking import break_patterns
from logbook.questions.breaks.tables import tables
from logbook.questions.places import words as placed
from logbook.questions.places.asking import DesignPlaces
from logbook.report.tables import table_html
from logbook.store import Store
from logbook.vocabulary.break_places import SOURCE
from logbook.wording import number


def places(found: DesignPlaces, labels: dict[str, str]) -> None:
    """The marks over the density map, and whether they lean to dense places."""
    st.subheader("Where defects sit")
    if found.result is None:
        st.info(
            "No places are marked on this version yet. When a defect is logged, tap on the "
            "drawing where it shows."
        )
    else:
        st.markdown(f"**{plain_markdown(placed.headline(found.result))}**")
        kinds = [each.kind for each in found.result.kinds]
        chosen = kinds
        if len(kinds) > 1:
            picked = st.pills(
                "Show",
                kinds,
                default=kinds[0],
                format_func=lambda kind: labels.get(kind, kind),
                key=f"shown marks {found.version.digest}",
            )
            chosen = [picked] if picked else kinds
        shown = [(each.x_mm, each.y_mm) for each in found.places if each.kind in chosen]
        dark = st.context.theme.type == "dark"
        # Which places are the densest is a matter of the stitches, the same for every kind.
        first = found.result.kinds[0]
        densest_from = None if first.even else first.fit.top_at_least
        drawn = draw_density(found.measurement, marks=shown, densest_from=densest_from, dark=dark)
        outlined = "" if first.even else ", the densest places outlined"
        says = placed.headline(found.result)
        alt = f"The density map with {number(len(shown))} marks{outlined}. {says}"
        st.html(f'<div style="max-width:560px">{picture(drawn, alt=alt)}</div>')
        with st.expander("Each kind, and how sure that is"):
            for each in found.result.kinds:
                st.markdown(f"- {plain_markdown(placed.kind_said(each))}")
            for note in placed.notes(found.result):
                st.caption(plain_markdown(note))
            st.caption(
                "Held against chance: a mark could as well have fallen on any stitch of the "
                "design (Berman 1986, with runs kept together)."
            )
    if found.elsewhere:
        marks = "1 mark is" if found.elsewhere == 1 else f"{number(found.elsewhere)} marks are"
        st.caption(f"{marks} on other versions of this design, and not on this map.")


def breaks(store: Store, design: str | None) -> None:
    """Whether breaks gather on one head, needle, colour or part of the file."""
    st.subheader("Where threads break")
    try:
        result = break_patterns(store, design=design)
    except AnalysisError as problem:
        explain(problem)
        return
    if not result.standing_out:
        st.markdown(f"**{plain_markdown(words.headline(result))}**")
    for each in result.standing_out:
        checks = "\n".join(f"{at}. {check}" for at, check in enumerate(each.kind.first_checks, 1))
        says = plain_markdown(words.gathering_said(each))
        st.markdown(
            f"**{says}**\n\nLook at first, with the machine stopped ({SOURCE}):\n\n{checks}"
        )
    with st.expander("Breaks by place"):
        for table in tables(result):
            st.markdown(plain_markdown(table.caption))
            st.html(table_html(table))
        for note in words.notes(result):
            st.caption(plain_markdown(note))
