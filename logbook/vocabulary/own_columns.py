"""What a shop says of a run sheet's column of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from logbook.vocabulary.defects import DefectKind


@dataclass(frozen=True, slots=True)
class OwnColumn:
    """A column that a shop has added: a text, or one of the choices that it lists."""

    name: str
    label: str
    choices: tuple[str, ...] = ()


Own: TypeAlias = DefectKind | OwnColumn
"""What a shop adds to the run sheet."""


def own_defect_kinds(own: Sequence[Own]) -> tuple[DefectKind, ...]:
    """The defect kinds among what a shop has added."""
    return tuple(each for each in own if isinstance(each, DefectKind))
