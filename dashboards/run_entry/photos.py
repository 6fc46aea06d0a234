"""Photos of a defect from the phone: held here until the run is logged, then kept with it."""

from __future__ import annotations

import streamlit as st

from dashboards.run_entry.typed import count, put, typed
from logbook.answers.photos import ENDINGS, LARGEST_BYTES, keep_photo
from logbook.errors import LogbookError
from logbook.store import Store
from logbook.vocabulary.defects import DefectKind

HELD = "photos_held"
"""Where the session holds them; not a field of the run, whose values are plain."""
MEGABYTE = 2**20


def ask_photos(store: Store) -> None:
    """Take photos from the camera or the gallery, and ask what they show."""
    run_ref = typed("run_ref")
    name = f"photos.{run_ref}"
    st.file_uploader(
        "Photo of the defect",
        type=list(ENDINGS),
        accept_multiple_files=True,
        max_upload_size=LARGEST_BYTES // MEGABYTE,
        key=name,
        on_change=_hold,
        args=(run_ref, name),
        help="Take one with the phone, or choose one. It is kept beside the run.",
    )
    if not _held(run_ref):
        return
    if not st.session_state.get(name):
        st.caption(f"{len(_held(run_ref))} held from before, and kept when the run is logged.")
    kinds = _counted(store)
    if len(kinds) > 1:
        labels = {each.name: each.label for each in kinds}
        st.pills(
            "What does it show?",
            list(labels),
            format_func=labels.__getitem__,
            key=f"photo_kind.{run_ref}",
        )


def keep_photos(store: Store, run_ref: str) -> None:
    """Keep what is held for a run that was just logged; say what cannot be kept."""
    kinds = _counted(store)
    kind = kinds[0].name if len(kinds) == 1 else st.session_state.get(f"photo_kind.{run_ref}")
    for content in _held(run_ref):
        try:
            keep_photo(store, run_ref, content, kind)
        except LogbookError as problem:
            put("photos_lacking", problem)
    st.session_state.pop(HELD, None)


def _hold(run_ref: str, name: str) -> None:
    files = st.session_state.get(name) or []
    st.session_state[HELD] = (run_ref, tuple(file.getvalue() for file in files))


def _held(run_ref: str) -> tuple[bytes, ...]:
    of, contents = st.session_state.get(HELD, (None, ()))
    return contents if of == run_ref else ()


def _counted(store: Store) -> list[DefectKind]:
    return [each for each in store.shop.kinds if each.measure == "pieces" and count(each.name)]
