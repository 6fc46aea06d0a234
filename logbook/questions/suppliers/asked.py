"""What was asked for, checked against what is there: the margin, the reference."""

from __future__ import annotations

from collections.abc import Sequence

from logbook.errors import AnalysisError
from logbook.good_piece import same_word
from logbook.questions.suppliers.counting import Gathered
from logbook.vocabulary.defects import ANY, DefectKind
from logbook.wording import meant_by

MARGIN_ANY = 0.01
MARGIN_ONE_KIND = 0.005


def margin_for(kind: DefectKind, margin: float | None) -> float | None:
    """Return the difference that does not matter, as a fraction; None for events.

    Raises
    ------
    AnalysisError
        The margin is negative, above all pieces or not a number.
    """
    if margin is not None and not 0 <= margin <= 1:
        raise AnalysisError(
            f"A margin of {100 * margin:g} points cannot be used: it is the difference that does "
            "not matter.",
            "Give a margin of zero points or more, such as 0.5.",
        )
    if kind.measure == "events":
        # A share of pieces says nothing of events per stitch.
        return None
    if margin is not None:
        return margin
    return MARGIN_ANY if kind.name == ANY.name else MARGIN_ONE_KIND


def reference_among(gathered: Gathered, reference: str | None) -> str | None:
    """Return the supplier that the others are set against; None where there is no supplier.

    Raises
    ------
    AnalysisError
        The supplier named has no pieces there.
    """
    known = sorted(gathered.jobs)
    if reference is None:
        largest_first = sorted(known, key=lambda name: (-gathered.whole(name).exposure, name))
        return largest_first[0] if largest_first else None
    exact = [name for name in known if name == reference]
    near = exact or [name for name in known if same_word(name, reference)]
    if not near:
        raise AnalysisError(
            f"No pieces on backing from a supplier called {reference!r} are in this comparison.",
            _hint(reference, known),
        )
    return near[0]


def _hint(asked: str, known: Sequence[str]) -> str:
    if not known:
        return "No run here names a supplier."
    meant = meant_by(asked, known)
    listed = f"Suppliers here: {', '.join(known)}."
    return listed if meant is None else f"Did you mean {meant}? {listed}"
