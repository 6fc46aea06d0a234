"""The trade as readable literals: what is chosen, what goes wrong, what is tried, what to mind."""

from __future__ import annotations

from logbook.vocabulary.backings import BACKING_SHADES, BACKINGS
from logbook.vocabulary.cautions import CAUTIONS
from logbook.vocabulary.choices import ChoiceList
from logbook.vocabulary.defects import ANY, DEFECT_KINDS, DefectKind, kind
from logbook.vocabulary.fabrics import FABRIC_SHADES, FABRICS
from logbook.vocabulary.factors import FACTORS
from logbook.vocabulary.hoopings import HOOPINGS
from logbook.vocabulary.needles import NEEDLE_POINTS
from logbook.vocabulary.rules import RULES_OF_THUMB
from logbook.vocabulary.stages import SEEN_AT
from logbook.vocabulary.toppings import TOPPINGS

__all__ = [
    "ANY",
    "CAUTIONS",
    "CHOICE_LISTS",
    "DEFECT_KINDS",
    "FABRICS",
    "FACTORS",
    "RULES_OF_THUMB",
    "ChoiceList",
    "DefectKind",
    "kind",
]

# Every closed list of the run sheet, in the order of its columns.
CHOICE_LISTS: tuple[ChoiceList, ...] = (
    FABRIC_SHADES,
    BACKINGS,
    BACKING_SHADES,
    TOPPINGS,
    HOOPINGS,
    NEEDLE_POINTS,
    SEEN_AT,
)
