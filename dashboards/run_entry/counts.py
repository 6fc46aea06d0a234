"""How many pieces, and what went wrong with them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

import polars as pl
import streamlit as st

from dashboards.run_entry.typed import (
    all_kinds,
    count,
    key,
    largest_kind,
    pieces_words,
    put,
    typed,
)
from logbook.store import Store, Window
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD, CAUTIONS
from logbook.vocabulary.defects import DefectKind
from logbook.wording import number

SHOWN_FIRST = 5
"""Piece kinds at hand; the others are behind "More kinds"."""
WEEKS_LOOKED_BACK = 8
MOST = 100_000


def ask_pieces() -> None:
    """Pieces sewn, as many as last time until told otherwise, and pieces inspected."""
    with st.container(horizontal=True, vertical_alignment="bottom", key="pieces"):
        with st.container(key="sewn"):
            st.number_input(
                "Pieces sewn", 0, MOST, None, step=1, key=key("pieces_sewn"), placeholder="count"
            )
        with st.container(key="inspected"):
            st.number_input(
                "Pieces inspected",
                0,
                MOST,
                None,
                step=1,
                key=key("pieces_inspected"),
                placeholder="all of them",
            )
    if whole := typed("pieces_rest_of"):
        st.caption(f"What is left of {pieces_words(whole)}. Put right if it is another number.")
    elif (last := typed("pieces_last_time")) and not typed("changing_setup"):
        says = f"{number(last)} last time"
        if typed("sampled_last_time"):
            says += ", not all of them inspected"
        st.caption(f"{says}. Put right if it was another number.")


def ask_trouble(store: Store) -> None:
    """Everything that can have gone wrong, the usual first."""
    kinds = in_order(store)
    pieces = [each for each in kinds if each.measure == "pieces"]
    st.markdown("**How many pieces show it?**")
    _steppers(pieces[:SHOWN_FIRST])
    with st.expander(_more(pieces[SHOWN_FIRST:]), key="more_kinds"):
        _steppers(pieces[SHOWN_FIRST:])
    st.markdown("**How often did the machine stop?**")
    _steppers([each for each in kinds if each.measure == "events"])
    if count("needle_breaks"):
        ask_needle_parts()
    st.markdown("**What became of the pieces?**")
    _ask_outcome(store)


def ask_needle_parts() -> None:
    """Ask whether every part of the needle was found, with the caution."""
    caution = next(each for each in CAUTIONS if each.name == "broken_needle")
    with st.container(border=True, key="needle"):
        st.warning(caution.says)
        st.pills(
            "Were all parts of the needle found?",
            (True, False),
            format_func=lambda found: "Yes, all parts found" if found else "No, or not sure",
            key=key("needle_parts_found"),
            width="stretch",
        )
        if typed("needle_parts_found") is False:
            st.error(BROKEN_NEEDLE_HELD)


def _ask_outcome(store: Store) -> None:
    with st.container(key="steppers_outcome"):
        _ask_defective(store.shop.kinds)
        _stepper("pieces_spoiled", "Spoiled, thrown away", "Pieces that cannot be sold.")
        _stepper("pieces_reworked", "Put right", "Pieces mended and then good.")
        if count("pieces_reworked"):
            st.number_input(
                "Minutes of putting right",
                0.0,
                None,
                None,
                step=5.0,
                key=key("rework_minutes"),
                placeholder="not recorded",
                format="%.6g",
            )


def _ask_defective(kinds: tuple[DefectKind, ...]) -> None:
    least, most = largest_kind(kinds), all_kinds(kinds)
    if typed("defective_told"):
        says = f"A piece with two defects counts once: from {least} to {most} here."
        _stepper("pieces_defective", "Pieces with any defect", says)
        return
    # Said, not written into a field: the server may not write where a thumb is at work.
    st.markdown(f"Pieces with any defect: **{least}**")
    if most > least:
        st.caption(f"If no piece shows two kinds, it is {most}.")
        st.button("Tell how many pieces", on_click=_tell_defective, args=(least,))


def _tell_defective(least: int) -> None:
    put("pieces_defective", least)
    put("defective_told", True)


def _steppers(kinds: Sequence[DefectKind]) -> None:
    with st.container(key=f"steppers_{kinds[0].name}"):
        for each in kinds:
            _stepper(each.name, each.label, each.definition)


def _stepper(name: str, label: str, help_: str) -> None:
    st.number_input(label, 0, MOST, step=1, key=key(name), help=help_)


def _more(kinds: Sequence[DefectKind]) -> str:
    counted = sum(count(each.name) for each in kinds)
    return f"More kinds ({len(kinds)})" + (f": {counted} counted" if counted else "")


def in_order(store: Store) -> tuple[DefectKind, ...]:
    """The shop's defect kinds, those counted most on this machine and fabric first.

    Asked once for a run on a machine and fabric: what a thumb is about to hit must not move.
    """
    wanted = (typed("run_ref"), typed("machine"), typed("fabric"))
    asked: tuple[Any, tuple[str, ...]] | None = typed("kinds_asked")
    if asked is None or asked[0] != wanted:
        asked = (wanted, _most_counted(store))
        put("kinds_asked", asked)
    place = {name: position for position, name in enumerate(asked[1])}
    return tuple(sorted(store.shop.kinds, key=lambda each: place[each.name]))


def _most_counted(store: Store) -> tuple[str, ...]:
    """Kinds by their count of late on this machine or fabric, then in the whole shop."""
    names = [each.name for each in store.shop.kinds]
    span = store.span()
    if span is None:
        return tuple(names)
    window = Window(since=span[1] - timedelta(weeks=WEEKS_LOOKED_BACK))
    cells = store.cells(names, by=("machine", "fabric"), window=window)
    here = pl.lit(False)
    for column in ("machine", "fabric"):
        if typed(column) is not None:
            here = here | (pl.col(column) == typed(column)).fill_null(False)
    found = cells.group_by("kind").agg(
        pl.col("count").filter(here).sum().alias("here"), pl.col("count").sum().alias("all")
    )
    counted = {kind: (here_, all_) for kind, here_, all_ in found.iter_rows()}

    def rank(name: str) -> tuple[int, int]:
        here_, all_ = counted.get(name) or (0, 0)
        return -(here_ or 0), -(all_ or 0)

    return tuple(sorted(names, key=rank))
