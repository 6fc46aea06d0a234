"""A departure that the shop knows of: what, where, since when, and who said so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

LONGEST_WHY = 500
Direction: TypeAlias = Literal["above", "below"]
Value: TypeAlias = str | int | float | bool


@dataclass(frozen=True, slots=True)
class KnownFinding:
    """A departure that the shop knows of.

    Attributes
    ----------
    kind, direction, level
        What departs, which way, and where: columns of the run sheet and their values.
    since
        The week in which it began, such as ``2026-W33``.
    said
        The week under review when it was said to be known.
    why, by
        What was said of it, and by whom.
    action
        The reference of the action that stands against it; None where it was only said.
    grade, recurrence_weeks
        As they were found then.
    """

    kind: str
    direction: Direction
    level: Mapping[str, Value]
    since: str
    said: str
    why: str | None = None
    by: str | None = None
    action: str | None = None
    grade: str = "found"
    recurrence_weeks: float | None = None

    @property
    def ref(self) -> str:
        """What it is called: the same departure has the same reference."""
        return finding_ref(self.kind, self.direction, self.level)


def finding_ref(kind: str, direction: str, level: Mapping[str, Value]) -> str:
    """Name a departure: ``thread_breaks above machine=M3 four-head``."""
    where = ", ".join(f"{name}={value}" for name, value in sorted(level.items()))
    return f"{kind} {direction} {where or 'everywhere'}"
