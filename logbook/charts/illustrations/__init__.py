"""One file a defect kind: sound work and the same work with the defect, drawn in SVG.

A drawing is an :class:`Illustration`; ``ILLUSTRATIONS`` lists them as the defect kinds are listed.
"""

from __future__ import annotations

from logbook.charts.illustrations import (
    bird_nests,
    bobbin_showing,
    coverage,
    fabric_faults,
    gaps,
    hoop_marks,
    looping,
    misplacement,
    needle_breaks,
    needle_cuts,
    puckering,
    shadowing,
    sinking,
    skipped_stitches,
    soiling,
    thread_breaks,
    trimming_damage,
)
from logbook.charts.illustrations.frame import Illustration

__all__ = ["ILLUSTRATIONS", "Illustration", "illustration"]

ILLUSTRATIONS: tuple[Illustration, ...] = (
    puckering.DRAWING,
    gaps.DRAWING,
    shadowing.DRAWING,
    sinking.DRAWING,
    coverage.DRAWING,
    looping.DRAWING,
    bobbin_showing.DRAWING,
    skipped_stitches.DRAWING,
    hoop_marks.DRAWING,
    needle_cuts.DRAWING,
    misplacement.DRAWING,
    trimming_damage.DRAWING,
    soiling.DRAWING,
    fabric_faults.DRAWING,
    thread_breaks.DRAWING,
    needle_breaks.DRAWING,
    bird_nests.DRAWING,
)


def illustration(kind: str) -> Illustration | None:
    """The drawings of a defect kind; None for kinds that a shop has added for itself."""
    return next((each for each in ILLUSTRATIONS if each.kind == kind), None)
