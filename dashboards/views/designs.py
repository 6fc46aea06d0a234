"""Designs: measured from the stitch file, with where defects and breaks sit."""

from __future__ import annotations

import streamlit as st

from dashboards.css import heading
from dashboards.design_pages import choosing, drawing, needles, trouble
from dashboards.measured_designs import measured
from dashboards.shared import book, explain
from dashboards.showing import answer_follows
from logbook.book.designs import design
from logbook.errors import LogbookError
from logbook.questions.places.asking import places_on
from logbook.runs.designs import Design
from logbook.store import Store


def page(store: Store) -> None:
    """Draw the chosen design, or ask for the first file."""
    heading("Designs")
    known = choosing.names(store)
    if not known:
        st.info(
            "No design is known yet. Add the stitch file that the machine sews: its size, "
            "stitches and density are measured from it."
        )
        choosing.ask_for_file(store, None)
        return
    name = choosing.chosen_design(store, known)
    answer_follows("Measuring the design…")
    found = design(store, name)
    if found is None:
        st.info(
            "Runs name this design, but the book holds no stitch file of it. Add the file, and "
            "its density is measured instead of guessed."
        )
        choosing.ask_for_file(store, name)
    else:
        draw(store, found)
    trouble.breaks(store, name)


def draw(store: Store, found: Design) -> None:
    """All that its file says; a file that is missing can be put back here."""
    try:
        placed = places_on(store, found.name, measuring=measured)
    except LogbookError as problem:
        explain(problem)
        choosing.ask_for_file(store, found.name)
        return
    drawing.measured_words(found.name, placed.measurement)
    drawing.versions(found)
    needles.ask_needles(store, found)
    choosing.ask_for_file(store, found.name)
    trouble.places(placed, {kind.name: kind.label for kind in store.shop.kinds})


page(book())
