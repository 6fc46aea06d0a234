"""A drawing that takes a thumb: it answers where it was tapped, and rings what is marked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import streamlit as st

CSS = """
.frame { touch-action: manipulation; position: relative; }
.frame svg { display: block; width: 100%; height: auto; max-height: 70vh; cursor: crosshair; }
.frame .mark {
  fill: none; stroke: var(--st-text-color); stroke-width: 2px; vector-effect: non-scaling-stroke;
}
.frame .mark.halo { stroke: var(--st-background-color); stroke-width: 6px; }
.frame :focus-visible { outline: 3px solid var(--st-primary-color); }
"""

JS = """
const SVG = 'http://www.w3.org/2000/svg';

export default function (component) {
  const { data, parentElement, setTriggerValue } = component;
  let frame = parentElement.querySelector('.frame');
  if (!frame) {
    frame = document.createElement('div');
    frame.className = 'frame';
    parentElement.appendChild(frame);
  }
  if (frame.dataset.drawing !== data.drawing) {
    frame.innerHTML = data.drawing;
    frame.dataset.drawing = data.drawing;
  }
  const svg = frame.querySelector('svg');
  svg.querySelectorAll('.mark').forEach((each) => each.remove());
  const draw = (x, y) => {
    for (const name of ['mark halo', 'mark']) {
      const ring = document.createElementNS(SVG, 'circle');
      ring.setAttribute('cx', x);
      ring.setAttribute('cy', y);
      ring.setAttribute('r', data.radius);
      ring.setAttribute('class', name);
      svg.appendChild(ring);
    }
  };
  data.marks.forEach(([x, y]) => draw(x, y));
  svg.onclick = (event) => {
    const place = svg.createSVGPoint();
    place.x = event.clientX;
    place.y = event.clientY;
    const { x, y } = place.matrixTransform(svg.getScreenCTM().inverse());
    draw(x, y);
    setTriggerValue('tapped', [x, y, Date.now()]);
  };
}
"""

_TAPPED = st.components.v2.component("places_on_a_design", css=CSS, js=JS)


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
