"""Pairs of defect kinds that are easily taken for one another, and how to tell them apart.

Common practice, worded so that two people at one table count alike.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Lookalike:
    """Two kinds, and the one sentence that parts them."""

    one: str
    other: str
    tell: str


LOOKALIKES: tuple[Lookalike, ...] = (
    Lookalike(
        "puckering",
        "hoop_marks",
        "Puckers run away from the stitching; a hoop mark runs round it, where the ring sat, and "
        "eases with steam.",
    ),
    Lookalike(
        "gaps",
        "coverage",
        "Cloth seen between two areas, or between a fill and its outline, is a gap; cloth seen "
        "between the rows inside one area is poor coverage.",
    ),
    Lookalike(
        "coverage",
        "sinking",
        "Flat cloth seen between the rows is poor coverage; pile that stands up through them is "
        "sinking.",
    ),
    Lookalike(
        "gaps",
        "skipped_stitches",
        "In a gap every stitch is there and an area has moved; where stitches are skipped the row "
        "itself has a hole, often crossed by a long float.",
    ),
    Lookalike(
        "looping",
        "bobbin_showing",
        "Loops are of the top thread and can be lifted; specks of bobbin thread lie flat along "
        "the edges of columns and mostly differ in colour.",
    ),
    Lookalike(
        "bobbin_showing",
        "coverage",
        "Pale specks at the edges of columns are bobbin thread; pale lines between the rows are "
        "the ground.",
    ),
    Lookalike(
        "needle_cuts",
        "fabric_faults",
        "Holes along the edge of the stitching are needle cuts; holes away from it came in with "
        "the goods or were made in handling.",
    ),
    Lookalike(
        "needle_cuts",
        "trimming_damage",
        "Needle cuts are small round holes or runs at the needle points; a trimming cut is a "
        "straight nick, often with stitches cut as well.",
    ),
    Lookalike(
        "soiling",
        "hoop_marks",
        "A ring that steams out is a hoop mark; a ring of dirt from the hoop is soiling.",
    ),
    Lookalike(
        "soiling",
        "fabric_faults",
        "Stains that were there when the carton was opened are faults of the fabric.",
    ),
    Lookalike(
        "thread_breaks",
        "bird_nests",
        "Count the stop once, by its cause: a nest that tears the thread is a bird nest.",
    ),
)


def easily_taken_for(kind: str) -> tuple[tuple[str, str], ...]:
    """The kinds that one kind is taken for, each with the sentence that parts them."""
    return tuple(
        (each.other if each.one == kind else each.one, each.tell)
        for each in LOOKALIKES
        if kind in (each.one, each.other)
    )
