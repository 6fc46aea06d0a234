"""A run in a few words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from logbook.vocabulary import DefectKind
from logbook.wording import number


def outcome(run: Mapping[str, Any], kinds: Sequence[DefectKind]) -> str:
    """Say what was counted: ``Puckering 2, thread breaks 1``."""
    counts = {each.label: run.get(each.name) for each in kinds}
    found = [f"{label.lower()} {number(count)}" for label, count in counts.items() if count]
    if not found and (amount := run.get("pieces_defective")):
        found = [f"{number(amount)} with any defect"]
    if found:
        told = ", ".join(found)
        return told[:1].upper() + told[1:]
    known = [run.get("pieces_defective"), *counts.values()]
    return "Nothing wrong" if any(count is not None for count in known) else "Not recorded"
