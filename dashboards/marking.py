"""A drawing that takes a thumb: it answers where it was tapped, and rings what is marked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import streamlit as st

from dashboards.css import component_file

_TAPPED = st.components.v2.component(
    "places_on_a_design", css=component_file("mark_places.css"), js=component_file("mark_places.js")
)


@dataclass(frozen=True, slots=True)
class Tap:
    """One tap, in the units of the drawing's own view box."""

    x: float
    y: float
    moment: int
    """Tells a tap from the same one handed over again."""


def tapped(
    drawing: str, marks: Sequence[tuple[float, float]], *, radius: float, key: str
) -> Tap | None:
    """Show a drawing with its marks; return the tap that made the page run, if one did.

    Parameters
    ----------
    drawing
        An SVG of ours; what it holds of users' text is escaped.
    marks
        Places marked already, in the units of its view box.
    radius
        Of the ring around a mark.
    key
        Tells drawings of one page apart.
    """
    result = _TAPPED(
        data={"drawing": drawing, "marks": [list(each) for each in marks], "radius": radius},
        key=key,
        on_tapped_change=lambda: None,
    )
    told = result.tapped
    return None if told is None else Tap(float(told[0]), float(told[1]), int(told[2]))
