"""What to keep in mind of a measured design, in words."""

from __future__ import annotations

from logbook.stitches.design import Command, StitchDesign, Trims
from logbook.wording import number, percent

MANY_LAYERS = 3.0
"""More than about so many layers of stitching break thread (common practice)."""
MANY_SHORT = 0.1

_TRIMS = {
    Trims.INFERRED: (
        "This file has no command for cutting the thread; trims are inferred from jumps, as "
        "machines take them, and may differ from what yours does."
    ),
    Trims.NOT_RECORDED: (
        "This file does not record where the thread is cut: how many trims there are cannot be "
        "said, and thread carried by jumps is counted in full."
    ),
}
_SPACING = (
    "Density here is stitches per mm², underlay and overlaps included. A 'density 0.40 mm' in a "
    "digitizing program is a distance between rows, in some between pairs of rows, which lays "
    "twice the thread: compare files by this measure."
)
_PLACES = (
    "Places are in mm from the file's own origin: x to the right, y downwards. Each needle point "
    "is spread over half a stitch before and after it, so that it does not matter where the "
    "square's edge falls. Thread is its straight way on the face, without take-up."
)


def notes_about(
    design: StitchDesign,
    *,
    size_mm: tuple[float, float],
    thread_over_jumps_m: float,
    densest_layers: float,
    short: int,
    short_share: float,
) -> tuple[str, ...]:
    """What to keep in mind, what matters most first."""
    notes = []
    if densest_layers > MANY_LAYERS:
        notes.append(
            f"There are {densest_layers:.1f} layers of thread in the densest square centimetre "
            f"(length x 0.4 mm, the width of 40 wt, / area); above about {MANY_LAYERS:.0f} thread "
            "tends to break (common practice)."
        )
    if short_share > MANY_SHORT:
        notes.append(
            f"{number(short)} stitches ({percent(short_share, 0)}) are shorter than 1 mm, turns "
            "between rows among them; many in one place break thread (common practice)."
        )
    notes += design.notes
    if design.trims in _TRIMS:
        notes.append(_TRIMS[design.trims])
    if thread_over_jumps_m > 0.001 and design.trims is not Trims.NOT_RECORDED:
        notes.append(
            f"{thread_over_jumps_m:.2f} m of the thread are carried by jumps without a cut."
        )
    if None in design.colours:
        notes.append("The file does not say the colour of every thread.")
    if design.count(Command.SEQUIN):
        notes.append("Sequins are counted apart; they are no stitches.")
    if min(size_mm) < 10:
        notes.append(
            "The design is narrower than a square centimetre: its densest square holds bare "
            "cloth too, and stitches stand closer than it says."
        )
    return (*notes, _SPACING, _PLACES)
