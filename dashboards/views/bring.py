"""Bring in a sheet: looked at first, asked about, and taken in by one confirmation."""

from __future__ import annotations

import streamlit as st

from dashboards.bringing import kept, reading
from dashboards.bringing.sent import Sent, ask_for_sheet, brought_just_now, done, look
from dashboards.css import heading
from dashboards.shared import book, explain, for_reviewers
from dashboards.showing import plain_markdown
from logbook.book.bringing_in import Look, bring_in
from logbook.errors import LogbookError
from logbook.store import Store
from logbook.wording import number

SHOWN_NOTES = 4


def page(store: Store) -> None:
    """Ask for a sheet, show how it is read, bring it in; below, what came in before."""
    heading("Bring in a sheet")
    if not for_reviewers("Bringing in a sheet"):
        return
    st.markdown("Title rows, sums and words are fine. Nothing comes in before you have seen it.")
    sent = ask_for_sheet()
    if sent is not None:
        try:
            shown(store, sent)
        except LogbookError as problem:
            explain(problem)
    elif brought := brought_just_now():
        kept.became(brought)
    kept.earlier(store)


def shown(store: Store, sent: Sent) -> None:
    """Draw the sheet as it would be read, what is open, and the one confirmation."""
    found = look(store, sent)
    st.subheader(_headline(found))
    if found.doubt:
        st.warning(plain_markdown(found.doubt))
    settled = reading.questions(found, sent)
    if settled and found.parsed.good.height:
        runs = "this run" if found.parsed.good.height == 1 else "these runs"
        if st.button(f"Bring {runs} in", type="primary", width="stretch"):
            with st.spinner("Bringing the runs in…"):
                brought = bring_in(store, found, sent.data, source=kept.SOURCE)
            done(brought)
            st.rerun()
    elif not settled:
        st.caption("Tap an answer; then the runs can come in.")
    reading.rows(store, found)
    reading.not_understood(store, found, sent)
    notes = found.notes
    if notes:
        with st.expander("Notes on the sheet"):
            for note in notes[:SHOWN_NOTES]:
                st.caption(plain_markdown(note[:1].upper() + note[1:]))
            if len(notes) > SHOWN_NOTES:
                st.caption(f"And {number(len(notes) - SHOWN_NOTES)} more.")
    if found.match is None and found.raw.read_as and st.button("Ask anew how it is read"):
        sent.anew = True
        st.rerun()


def _headline(found: Look) -> str:
    rows, runs = found.raw.rows, found.parsed.good.height
    said = f"{number(rows)} row{'s' if rows != 1 else ''}, {number(runs)} run"
    said += "" if runs == 1 else "s"
    if found.rejected:
        said += f"; {number(found.rejected)} cannot be taken yet"
    return said


page(book())
