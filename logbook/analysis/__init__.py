"""One file a question: cells become results, each with a table, a sentence and its JSON.

Analyses do not know one another: what two of them need lies on a lower floor. A new one is a
file (or a folder of files) here with ``QUESTION`` and ``analyse``, and a line in ``ANALYSES``.
"""

from __future__ import annotations

from types import ModuleType

from logbook.analysis import breaks, control, factors, pareto, places, review, suppliers

ANALYSES: tuple[ModuleType, ...] = (
    breaks,
    control,
    factors,
    pareto,
    places,
    review,
    suppliers,
)
