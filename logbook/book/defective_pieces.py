"""The pieces with any defect, which go along with a corrected count that they were taken from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from logbook.errors import RecordError
from logbook.runs.intake.readers import Unreadable, read_integer
from logbook.vocabulary.defects import DefectKind
from logbook.wording import number

ANY = "pieces_defective"


@dataclass(frozen=True, slots=True)
class Along:
    """What a correction brings along: further changes, and what is said of them."""

    changes: Mapping[str, int]
    notes: tuple[str, ...]


def pieces_along(
    before: Mapping[str, Any], changes: Mapping[str, Any], kinds: Iterable[DefectKind]
) -> Along:
    """The pieces with any defect that a corrected count brings along.

    A form that is told no number of its own takes the largest count of one kind, and records
    every kind. So where that is what stands in the book, it goes on being so when one of the
    counts is corrected. With several kinds counted that is the least that it can be, and is worth
    a look. Where a kind is not recorded, the number may be of that one: it stays, to be checked.

    Parameters
    ----------
    before
        The run as it stands: column to value.
    changes
        What is corrected: column to the new value, as typed.
    kinds
        The shop's kinds of defect.
    """
    counted = _counted(kinds)
    if ANY in changes or not any(name in changes for name in counted):
        return Along({}, ())
    left = {name: before.get(name) for name in counted}
    left |= {name: _count(changes[name]) for name in counted if name in changes}
    recorded = [count for count in left.values() if count is not None]
    if not recorded:
        return Along({}, ())  # Nothing counted is not nothing found.
    largest = max(before.get(name) or 0 for name in counted)
    now, stood = max(recorded), before.get(ANY)
    if stood is None or now == largest:
        return Along({}, ())
    follows = stood == largest and all(before.get(name) is not None for name in counted)
    notes = [f"{ANY} went along: {number(now)} now"] if follows else []
    if sum(count > 0 for count in recorded) > 1:
        notes.append(f"check {ANY}: several kinds are counted, and a piece may show only one")
    elif stood == largest and not follows:
        notes.append(f"check {ANY}: it stays {number(stood)}, since not every kind is recorded")
    return Along({ANY: now} if follows else {}, tuple(notes))


def refused_pieces(
    problem: RecordError, changes: Mapping[str, Any], along: Along, kinds: Iterable[DefectKind]
) -> RecordError:
    """A refused correction, told of what was sent; says so where the pieces are in the way.

    Parameters
    ----------
    problem
        Why the corrected run cannot be true.
    changes
        What was sent, without what went along.
    along
        What went along.
    kinds
        The shop's kinds of defect.
    """
    if ANY not in problem.reasons or ANY in changes:
        return problem
    others = {name: says for name, says in problem.reasons.items() if name != ANY}
    if others:
        if ANY not in along.changes:
            return problem
        message = problem.message.partition(":")[0]
        return RecordError(
            f"{message}: {'; '.join(others.values())}.", problem.hint, reasons=others
        )
    counts = [_count(changes[name]) or 0 for name in _counted(kinds) if name in changes]
    hint = f"give {ANY} as well, such as {ANY}={max(counts)}" if counts else problem.hint
    return RecordError(problem.message, hint, reasons=problem.reasons)


def _counted(kinds: Iterable[DefectKind]) -> list[str]:
    return [each.name for each in kinds if each.measure == "pieces" and each.charged_to_setup]


def _count(typed: Any) -> int | None:
    """A count as typed; None where none is told, or where it will be refused as it is read."""
    if typed is None or typed == "":
        return None
    try:
        return read_integer(str(typed))
    except Unreadable:
        return None
