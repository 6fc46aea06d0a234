"""The photos of a run, each with the kind of defect that it shows."""

from __future__ import annotations

import streamlit as st

from dashboards.shared import kind_label
from dashboards.showing import plain_markdown
from logbook.book.photos import COLLECTION, photos_of
from logbook.store import Store

WIDTH_PIXELS = 320


def photos(store: Store, run_ref: str) -> None:
    """Show the photos that were kept with the run, if any."""
    paths = photos_of(store, run_ref)
    if not paths:
        return
    own = store.shop.own_kinds
    shows = {
        card.key: card.content.get("kind") for card in store.documents(COLLECTION, about=run_ref)
    }
    st.subheader("Photos")
    with st.container(horizontal=True, key="run-photos"):
        for path in paths:
            kind = shows.get(f"{path.parent.name}/{path.name}")
            caption = plain_markdown(kind_label(kind, own)) if kind else "Photo"
            st.image(str(path), caption=caption, width=WIDTH_PIXELS)
