"""What is said of one kind of defect."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class DefectKind:
    """One kind of defect, and all that the pages, the sheet and the advice say of it.

    Parameters
    ----------
    name
        The run sheet's column.
    label
        What pages show.
    definition
        What a person sees, so that two people count alike.
    usual_levers
        Columns of the run sheet that usually move it, the strongest first.
    remedies
        What a practitioner tries, in that order.
    measure
        ``pieces`` that show it, or ``events`` that happened.
    source
        The kind of publication that the entry rests on.
    headings
        Short headings of sheets that probably mean it.
    cautions
        To be read before any remedy is tried, the gravest first (``vocabulary/cautions.py``).
    charged_to_setup
        False where the setup cannot be blamed for it.
    own
        True for a kind that a shop has added for itself.
    """

    name: str
    label: str
    definition: str
    usual_levers: tuple[str, ...]
    remedies: tuple[str, ...]
    source: str
    measure: Literal["pieces", "events"] = "pieces"
    headings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    charged_to_setup: bool = True
    own: bool = False

    @property
    def counted_against(self) -> str:
        """The exposure in words."""
        return "pieces inspected" if self.measure == "pieces" else "stitches sewn"
