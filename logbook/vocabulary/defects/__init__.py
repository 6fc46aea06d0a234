"""What can go wrong with an embroidered piece: how to see it, count it, and what to try first.

A new kind is an entry in the file of its group; the tuple here, and with it the run sheet, the
form, the pages and the report, follow.
"""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches

from logbook.errors import VocabularyError
from logbook.vocabulary.choices import normalise
from logbook.vocabulary.defects.damage import DAMAGE
from logbook.vocabulary.defects.entry import DefectKind
from logbook.vocabulary.defects.events import EVENTS
from logbook.vocabulary.defects.formation import FORMATION
from logbook.vocabulary.defects.looks import LOOKS

__all__ = ["ANY", "DEFECT_KINDS", "NOT_OF_BACKING", "DefectKind", "kind"]

DEFECT_KINDS: tuple[DefectKind, ...] = (*LOOKS, *FORMATION, *DAMAGE, *EVENTS)

NOT_OF_BACKING: tuple[str, ...] = ("coverage", "bobbin_showing", "misplacement", "soiling")
"""Kinds of thread, tension, placing and handling, by common practice: no backing is behind them, so
that suppliers who differ in them have had different work."""

ANY = DefectKind(
    name="any",
    label="Any defect",
    definition="The piece shows at least one defect of any kind; a piece with three defects "
    "counts once.",
    usual_levers=("backing", "backing_gsm", "hooping", "density", "fabric", "speed_spm"),
    remedies=("Find the costliest single kind in the weekly review and start with its remedies.",),
    source="garment quality control formulas: percent defective",
)


def kind(name: str, own: Sequence[DefectKind] = ()) -> DefectKind:
    """Look a defect kind up by its column name or its label.

    Parameters
    ----------
    name
        Column name or label; case, spaces and hyphens do not matter. ``any`` is known too.
    own
        Kinds that the shop has added for itself.

    Returns
    -------
    DefectKind

    Raises
    ------
    VocabularyError
        If no such kind is known; its hint names the nearest ones.
    """
    known = (*DEFECT_KINDS, ANY, *own)
    wanted = normalise(name)
    for each in known:
        if wanted in (normalise(each.name), normalise(each.label)):
            return each
    names = [each.name for each in known]
    near = get_close_matches(wanted.replace(" ", "_"), names, n=3, cutoff=0.6)
    hint = f"Did you mean {' or '.join(near)}?" if near else f"Known kinds: {', '.join(names)}."
    raise VocabularyError(f"There is no defect kind “{name}”.", hint)
