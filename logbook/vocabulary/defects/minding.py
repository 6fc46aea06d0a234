"""Which cautions belong beside the remedies of each defect kind."""

from __future__ import annotations

from logbook.vocabulary.cautions import CAUTIONS, Caution

CAUTIONS_OF_KIND: dict[str, tuple[str, ...]] = {
    "puckering": ("moving_needles", "heat", "spray_adhesive"),
    "gaps": ("moving_needles", "heat"),
    "shadowing": ("heat", "skin_and_infants"),
    "sinking": ("heat",),
    "coverage": (),
    "looping": ("moving_needles",),
    "bobbin_showing": ("moving_needles",),
    "skipped_stitches": ("moving_needles",),
    "hoop_marks": ("heat", "magnetic_frames"),
    "needle_cuts": ("moving_needles",),
    "misplacement": ("moving_needles",),
    "trimming_damage": ("moving_needles",),
    "soiling": ("moving_needles", "heat", "spray_adhesive"),
    "fabric_faults": (),
    "thread_breaks": ("moving_needles",),
    "needle_breaks": ("broken_needle", "moving_needles"),
    "bird_nests": ("moving_needles",),
}


def cautions_beside(kind: str) -> tuple[Caution, ...]:
    """The cautions to read before trying the remedies of a kind, the gravest first."""
    named = {caution.name: caution for caution in CAUTIONS}
    return tuple(named[name] for name in CAUTIONS_OF_KIND.get(kind, ()))
