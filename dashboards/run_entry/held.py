"""Photos that wait for a run to be logged: which there are, and keeping them with the run."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import streamlit as st

from dashboards.run_entry.typed import put, typed
from dashboards.shared import explain
from logbook.book.draft_photos import photos_of_draft, take_over
from logbook.book.drafts import Draft, draft_of
from logbook.errors import LogbookError
from logbook.service.devices import device_named
from logbook.store import Store
from logbook.vocabulary.defects import DefectKind

CHOSEN = "photos_chosen"
"""Where the session notes the photos that were chosen in it; the others are from before."""


def device() -> str | None:
    """Name the device that the page is on; None where it does not say."""
    return device_named(st.context.cookies.to_dict())


def held(store: Store) -> tuple[Path, ...]:
    """The photos of the run at hand."""
    return photos_of_draft(store, typed("run_ref"), device=device())


def is_from_before(path: Path) -> bool:
    """Whether a photo was there before this page was opened."""
    return path.name not in st.session_state.get(CHOSEN, ())


def from_before(store: Store) -> str:
    """Say how many photos are from before: ``2 photos are here from before.``; empty for none."""
    number = sum(map(is_from_before, held(store)))
    if not number:
        return ""
    return f"{photos_words(number)} {'is' if number == 1 else 'are'} here from before."


def photos_words(number: int) -> str:
    """Say so many photos: ``1 photo``, ``2 photos``."""
    return f"{number} photo{'' if number == 1 else 's'}"


def counted(store: Store, told: Mapping[str, Any]) -> list[DefectKind]:
    """The kinds of which pieces were counted: what a photo can show."""
    return [each for each in store.shop.kinds if each.measure == "pieces" and told.get(each.name)]


def keep_with_run(store: Store, draft: Draft) -> bool:
    """Keep the photos of a draft with its run, which is logged; False where that was not done.

    Where only one kind was counted they show it, else the kind that was told.
    """
    kinds = [each.name for each in counted(store, draft.typed)]
    asked = draft.typed.get("photo_kind")
    kind = kinds[0] if len(kinds) == 1 else asked if asked in kinds else None
    try:
        take_over(store, draft, kind)
    except LogbookError as problem:
        put("photos_lacking", (draft.run_ref, problem))
        return False
    put("photos_lacking", None)
    return True


def say_lacking(store: Store) -> None:
    """Say that photos are not with their run yet, with the way to try again."""
    if typed("photos_lacking") is None:
        return
    run_ref, problem = typed("photos_lacking")
    explain(problem)
    st.button("Keep the photos now", on_click=_once_more, args=(store, run_ref), key="photos_now")


def _once_more(store: Store, run_ref: str) -> None:
    draft = draft_of(store, run_ref, device=device())
    if draft is None:
        put("photos_lacking", None)
    else:
        keep_with_run(store, draft)
