"""The sheet that was sent, and what was answered about it, for as long as it is looked at."""

from __future__ import annotations

from dataclasses import dataclass, field
from hashlib import sha256

import streamlit as st

from logbook.book.bringing_in import Brought, Look, look_at
from logbook.service import the_book
from logbook.store import Store

MEGABYTES = 25
LONGEST_PASTE = 1_000_000
_SENT, _BROUGHT, _TURN = "bring sheet", "bring brought", "bring turn"


@dataclass
class Sent:
    """A file or a pasted block, with the answers given so far."""

    name: str
    data: bytes
    answers: dict[str, str] = field(default_factory=dict)
    anew: bool = False
    seen: tuple[str, Look] | None = None

    @property
    def mark(self) -> str:
        """Tells one sheet from another."""
        return sha256(self.data).hexdigest()[:16]


def ask_for_sheet() -> Sent | None:
    """Ask for a file or a pasted block; what was sent stays until another is."""
    turn = st.session_state.get(_TURN, 0)
    file = st.file_uploader(
        "Your sheet, as it is",
        max_upload_size=MEGABYTES,
        key=f"bring file {turn}",
        on_change=_changed,
        args=(f"bring file {turn}",),
        help="Any workbook (.xlsx, .xls, .ods) or text (.csv, .tsv, .txt).",
    )
    with st.expander("Or paste rows"):
        text = st.text_area(
            "Rows with their headings", max_chars=LONGEST_PASTE, key=f"bring text {turn}"
        )
        pasted = st.button("Look at these rows", disabled=not text.strip())
    if file is not None:
        _take(file.name, file.getvalue())
    elif pasted:
        _take("pasted.txt", text.encode())
    sent: Sent | None = st.session_state.get(_SENT)
    return sent


def _changed(key: str) -> None:
    """Let go of the sheet where its file was taken away; leaving the page lets go of nothing."""
    if st.session_state[key] is None:
        st.session_state.pop(_SENT, None)


def _take(name: str, data: bytes) -> None:
    now = st.session_state.get(_SENT)
    if now is None or (now.name, now.data) != (name, data):
        st.session_state[_SENT] = Sent(name, data)
        st.session_state.pop(_BROUGHT, None)


def look(store: Store, sent: Sent) -> Look:
    """How the book would take the sheet, remembered until an answer or the book changes."""
    stamp = f"{sent.mark} {sorted(sent.answers.items())} {sent.anew} {the_book().changes}"
    if sent.seen is None or sent.seen[0] != stamp:
        with st.spinner("Reading the sheet…"):
            found = look_at(store, sent.name, sent.data, answers=sent.answers, anew=sent.anew)
        sent.seen = (stamp, found)
    return sent.seen[1]


def done(brought: Brought) -> None:
    """Remember what became of the sheet, and empty the fields for another."""
    st.session_state[_BROUGHT] = brought
    st.session_state.pop(_SENT, None)
    st.session_state[_TURN] = st.session_state.get(_TURN, 0) + 1


def brought_just_now() -> Brought | None:
    """What became of the sheet before, until another is sent."""
    brought: Brought | None = st.session_state.get(_BROUGHT)
    return brought
