"""Marking where on the design a run's defects show, and where its threads broke."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import streamlit as st

from dashboards.marking import tapped
from dashboards.measured_designs import measured
from dashboards.shared import explain
from dashboards.showing import plain_markdown
from logbook.book.defect_locations import add_locations, locations_of_run, remove_location
from logbook.book.designs import design
from logbook.charts.design import Frame, draw_threads, frame
from logbook.errors import LogbookError
from logbook.runs.defect_locations import LARGEST, BreakLocation, DefectLocation, RunLocations
from logbook.runs.designs import DesignVersion
from logbook.store import Store
from logbook.vocabulary import DefectKind

SOURCE = "form"
RING_PX = 9
BREAKS = ("thread_breaks", "needle_breaks")
BESIDE_MM = 8.0
"""A thumb misses by some millimetres; farther off it meant something else."""
_SEEN = "tap seen"
_PROBLEM, _LACKING = "marks problem", "marks lacking"


def can_be_marked(store: Store, run: Mapping[str, Any]) -> bool:
    """Whether there is anything to mark: a defect on a drawn design, or a break."""
    drawn = _version(store, run) is not None
    return (drawn and bool(_shown_kinds(store, run))) or bool(_broken(store, run))


def marks_form(store: Store, run: Mapping[str, Any]) -> None:
    """Take taps on the drawing for defects, and a few numbers for breaks; kept at once.

    Parameters
    ----------
    run
        The run as it is in the book.
    """
    marks = locations_of_run(store, run)
    version = _version(store, run)
    kinds = _shown_kinds(store, run)
    if version is not None and kinds:
        _defect_places(store, marks, version, kinds)
    for kind in _broken(store, run):
        _break_places(store, marks, kind, run)


def _defect_places(
    store: Store, marks: RunLocations, version: DesignVersion, kinds: Sequence[DefectKind]
) -> None:
    st.markdown("**Where does it show?** Tap on the drawing, once for each place.")
    labels = {kind.name: kind.label for kind in kinds}
    chosen = kinds[0].name
    if len(kinds) > 1:
        chosen = (
            st.pills(
                "What is marked",
                list(labels),
                default=chosen,
                format_func=labels.__getitem__,
                key=f"marked kind {marks.run_ref}",
            )
            or chosen
        )
    try:
        found = measured(store, version)
    except LogbookError as problem:
        explain(problem)
        return
    place = frame(found)
    shown = [each for each in marks.places if each.kind == chosen]
    tap = tapped(
        draw_threads(found, dark=st.context.theme.type == "dark"),
        [place.px(each.x_mm, each.y_mm) for each in shown],
        radius=RING_PX,
        key=f"tapped {marks.run_ref}",
    )
    if tap is not None and st.session_state.get(_SEEN) != tap.moment:
        st.session_state[_SEEN] = tap.moment
        where = _in_mm(place, tap.x, tap.y)
        if found.distance_mm(where) > BESIDE_MM:
            st.info("That is beside the design; tap on its stitches.")
        else:
            _add_place(store, marks.run_ref, DefectLocation(chosen, *where))
    _said(store, marks, labels)


def _said(store: Store, marks: RunLocations, labels: Mapping[str, str]) -> None:
    counts = {
        name: sum(each.kind == name for each in marks.places)
        for name in dict.fromkeys(each.kind for each in marks.places)
    }
    if not counts:
        return
    words = ", ".join(f"{labels.get(name, name)} {count}" for name, count in counts.items())
    st.caption(f"Marked: {plain_markdown(words)}")
    st.button(
        "Take the last place back",
        key=f"place back {marks.run_ref}",
        on_click=_take_back,
        args=(store, marks.run_ref, marks.places[-1]),
    )


def _break_places(
    store: Store, marks: RunLocations, kind: DefectKind, run: Mapping[str, Any]
) -> None:
    marked = [each for each in marks.breaks if each.kind == kind.name]
    form = f"break {kind.name} {marks.run_ref}"
    with st.form(form, clear_on_submit=True):
        st.markdown(
            f"**Where was it? {kind.label}.** What you know of one of them; leave the rest empty."
        )
        asked = {"head": "Head", "needle": "Needle", "colour_step": "Colour step"}
        asked |= {"stitch": "Stitch number"}
        # Typed, never stepped: while a field is empty its plus and minus look disabled.
        with st.container(horizontal=True, key=f"fields_{form}"):
            for name, label in asked.items():
                most = run["head_count"] if name == "head" and run["head_count"] else LARGEST[name]
                st.number_input(
                    label,
                    min_value=1,
                    max_value=int(most),
                    value=None,
                    step=1,
                    key=f"{form} {name}",
                )
        st.form_submit_button(
            "Keep this break",
            width="stretch",
            on_click=_add_break,
            args=(store, marks.run_ref, kind.name, {name: f"{form} {name}" for name in asked}),
        )
    if st.session_state.get(_LACKING) == form:
        del st.session_state[_LACKING]
        st.info("Fill in at least one of the four.")
    if marked:
        st.caption(f"Kept: {'; '.join(_words(each, asked) for each in marked)}")
        st.button(
            "Take the last break back",
            key=f"break back {kind.name} {marks.run_ref}",
            on_click=_take_back,
            args=(store, marks.run_ref, marked[-1]),
        )
    if problem := st.session_state.pop(_PROBLEM, None):
        explain(problem)


def _words(each: BreakLocation, labels: Mapping[str, str]) -> str:
    told = [
        f"{label.lower()} {getattr(each, name):,}"
        for name, label in labels.items()
        if getattr(each, name) is not None
    ]
    return ", ".join(told)


def _add_place(store: Store, run_ref: str, place: DefectLocation) -> None:
    try:
        add_locations(store, run_ref, places=(place,), breaks=(), source=SOURCE)
    except LogbookError as problem:
        explain(problem)
        return
    st.rerun()


def _add_break(store: Store, run_ref: str, kind: str, fields: Mapping[str, str]) -> None:
    told = {name: st.session_state[key] for name, key in fields.items()}
    if not any(told.values()):
        st.session_state[_LACKING] = f"break {kind} {run_ref}"
        return
    try:
        add_locations(
            store, run_ref, places=(), breaks=(BreakLocation(kind, **told),), source=SOURCE
        )
    except LogbookError as problem:
        st.session_state[_PROBLEM] = problem


def _take_back(store: Store, run_ref: str, mark: DefectLocation | BreakLocation) -> None:
    try:
        remove_location(store, run_ref, mark, source=SOURCE)
    except LogbookError as problem:
        st.session_state[_PROBLEM] = problem


def _in_mm(place: Frame, x: float, y: float) -> tuple[float, float]:
    x_mm, y_mm = place.mm(x / place.width_px, y / place.height_px)
    return round(x_mm, 1), round(y_mm, 1)


def _version(store: Store, run: Mapping[str, Any]) -> DesignVersion | None:
    found = None if run["design"] is None else design(store, run["design"])
    return None if found is None else found.version(run["design_version"])


def _shown_kinds(store: Store, run: Mapping[str, Any]) -> list[DefectKind]:
    return [kind for kind in store.shop.kinds if kind.measure == "pieces" and run[kind.name]]


def _broken(store: Store, run: Mapping[str, Any]) -> list[DefectKind]:
    return [kind for kind in store.shop.kinds if kind.name in BREAKS and run[kind.name]]
