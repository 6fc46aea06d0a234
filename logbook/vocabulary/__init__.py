"""The trade as readable literals: what is chosen, what goes wrong, what is tried, what to mind."""

from __future__ import annotations

from logbook.vocabulary.cautions import CAUTIONS
from logbook.vocabulary.choices import ChoiceList
from logbook.vocabulary.defects import ANY, DEFECT_KINDS, DefectKind, kind
from logbook.vocabulary.fabrics import FABRICS
from logbook.vocabulary.rules import RULES_OF_THUMB

__all__ = [
    "ANY",
    "CAUTIONS",
    "DEFECT_KINDS",
    "FABRICS",
    "RULES_OF_THUMB",
    "ChoiceList",
    "DefectKind",
    "kind",
]
