"""Photos of a defect from the phone: kept with what is typed, then with the run."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from dashboards.run_entry.held import (
    CHOSEN,
    counted,
    device,
    held,
    is_from_before,
    keep_with_run,
    photos_words,
)
from dashboards.run_entry.kept import form_now, nothing_is_typed, write_draft
from dashboards.run_entry.typed import key, put, typed
from dashboards.shared import explain
from logbook.book.draft_photos import drop_photo, hold_photo
from logbook.book.drafts import draft_of, forget_draft
from logbook.book.photos import ENDINGS, LARGEST_BYTES
from logbook.book.thumbnails import thumbnail
from logbook.errors import IntakeError, LogbookError
from logbook.store import Store

TURN = "photos_turn"
"""How often photos were taken in: each time the field is a new one, and empty."""
MEGABYTE = 2**20
SMALL_PIXELS = 72
_ON_THE_WAY = IntakeError(
    "The service stopped while a photo was being sent.", "choose it once more if it is not here"
)


def ask_photos(store: Store) -> None:
    """Take photos from the camera or the gallery, show them, and ask what they show."""
    place = st.empty()
    name = _choose(store, place)
    chosen = st.session_state.get(name) or []
    if not all(isinstance(file, UploadedFile) for file in chosen):
        put("photos_refused", (_ON_THE_WAY,))
        _empty_the_field()
        _choose(store, place)
    for problem in typed("photos_refused") or ():
        explain(problem)
    found = held(store)
    if not found:
        return
    _show(store, found)
    _ask_kind(store)


def keep_photos(store: Store, run_ref: str) -> None:
    """Keep what is held for a run that was just logged."""
    draft = draft_of(store, run_ref, device=device())
    if draft is not None:
        keep_with_run(store, draft)


def _choose(store: Store, place: st.delta_generator.DeltaGenerator) -> str:
    run_ref = typed("run_ref")
    name = f"photos.{run_ref}.{st.session_state.get(TURN, 0)}"
    place.file_uploader(
        "Photo of the defect",
        type=list(ENDINGS),
        accept_multiple_files=True,
        max_upload_size=LARGEST_BYTES // MEGABYTE,
        key=name,
        on_change=_hold,
        args=(store, run_ref, name),
        help="Take one with the phone, or choose one. It is kept beside the run.",
    )
    return name


def _hold(store: Store, run_ref: str, name: str) -> None:
    """Keep with the draft what was just chosen, before anything else is done with it."""
    files = [file for file in st.session_state.get(name) or [] if isinstance(file, UploadedFile)]
    # A form that is still being taken up is on the disk already, fuller than on the page.
    if typed("resuming") is None:
        write_draft(store)
    refused: dict[tuple[str, str | None], list[str]] = {}
    for file in files:
        try:
            path = hold_photo(store, run_ref, file.getvalue(), device=device())
        except LogbookError as problem:
            refused.setdefault((problem.message, problem.hint), []).append(file.name)
        else:
            st.session_state.setdefault(CHOSEN, set()).add(path.name)
    said = [IntakeError(f"{', '.join(of)}: {says}", hint) for (says, hint), of in refused.items()]
    put("photos_refused", tuple(said))
    _empty_the_field()


def _empty_the_field() -> None:
    st.session_state[TURN] = st.session_state.get(TURN, 0) + 1


def _show(store: Store, found: Sequence[Path]) -> None:
    with st.container(key="photos_held"):
        st.caption(f"{photos_words(len(found))}, kept with the run when it is logged.")
        for number, path in enumerate(found, 1):
            with st.container(horizontal=True, vertical_alignment="center"):
                small = thumbnail(path)
                if small is not None:
                    alt = f"Photo {number} of the defect"
                    # The box is narrow, not the picture: phones draw three dots for one.
                    with st.container(width=SMALL_PIXELS):
                        st.image(small, width="stretch", alt=alt)
                words = f"Photo {number}"
                if small is None:
                    words += ", which cannot be shown"
                if is_from_before(path):
                    words += ", from before"
                st.markdown(words, width="stretch")
                st.button(
                    f"Remove photo {number}",
                    on_click=_drop,
                    args=(store, typed("run_ref"), path.name),
                    key=f"drop.{path.name}",
                )


def _drop(store: Store, run_ref: str, name: str) -> None:
    try:
        drop_photo(store, run_ref, name, device=device())
    except LogbookError as problem:
        put("photos_refused", (problem,))
        return
    put("photos_refused", None)
    if not held(store) and nothing_is_typed():
        forget_draft(store, run_ref)


def _ask_kind(store: Store) -> None:
    labels = {each.name: each.label for each in counted(store, form_now())}
    if typed("photo_kind") is not None and typed("photo_kind") not in labels:
        put("photo_kind", None)
    if len(labels) > 1:
        st.pills(
            "What does it show?",
            list(labels),
            format_func=labels.__getitem__,
            key=key("photo_kind"),
        )
