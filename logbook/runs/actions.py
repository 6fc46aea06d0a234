"""What a weekly review decided on: what to do, by whom, about what, and what became of it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from datetime import date
from typing import Any, Literal, NoReturn, TypeAlias

from logbook.errors import RecordError

State: TypeAlias = Literal["open", "done", "dropped"]
STATES: tuple[State, ...] = ("open", "done", "dropped")

ABOUT: tuple[str, ...] = ("machine", "fabric", "backing", "backing_supplier", "design")
"""Columns of the run sheet that an action can be about, beside a kind of defect."""

LONGEST_WHAT = 500
LONGEST_NAME = 120
_WEEK = re.compile(r"(\d{4})-W(\d{2})", re.ASCII)


@dataclass(frozen=True, slots=True)
class DecidedAction:
    """One thing that the review decided to do.

    Attributes
    ----------
    what
        What to do, in the shop's words.
    decided
        The week under review when it was decided, such as ``2026-W40``.
    by
        Who does it.
    due
        The week by whose end it is to be done.
    kind
        Column name of the kind of defect that it is about.
    machine, fabric, backing, backing_supplier, design
        Which part of the work it is about; None for all.
    state, ended_on, why
        What became of it, on which day, and what was said about that.
    """

    what: str
    decided: str
    by: str | None = None
    due: str | None = None
    kind: str | None = None
    machine: str | None = None
    fabric: str | None = None
    backing: str | None = None
    backing_supplier: str | None = None
    design: str | None = None
    state: State = "open"
    ended_on: date | None = None
    why: str | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        if not self.what.strip():
            _refuse("what", "say what is to be done")
        if len(self.what) > LONGEST_WHAT:
            _refuse("what", f"what is to be done has more than {LONGEST_WHAT} letters")
        for name in ("by", "kind", *ABOUT):
            if len(getattr(self, name) or "") > LONGEST_NAME:
                _refuse(name, f"{name.replace('_', ' ')} has more than {LONGEST_NAME} letters")
        if len(self.why or "") > LONGEST_WHAT:
            _refuse("why", f"the reason has more than {LONGEST_WHAT} letters")
        decided = _monday(self.decided, "decided")
        if self.due is not None and _monday(self.due, "due") < decided:
            _refuse("due", f"it is due in {self.due}, before it was decided in {self.decided}")
        self._refuse_ends(decided)

    def _refuse_ends(self, decided: date) -> None:
        if self.state not in STATES:
            _refuse("state", f"{self.state!r} is none of open, done and dropped")
        if (self.ended_on is None) != (self.state == "open"):
            _refuse("ended_on", "an action has a day of its end when it is done or dropped")
        if self.ended_on is not None and self.ended_on < decided:
            _refuse("ended_on", f"it cannot have ended before the week {self.decided}")
        if self.state == "dropped" and not (self.why or "").strip():
            _refuse("why", "say why it was dropped")

    @property
    def where(self) -> dict[str, str]:
        """The part of the work that it is about, as columns of the run sheet."""
        return {name: value for name in ABOUT if (value := getattr(self, name)) is not None}

    def plain(self) -> dict[str, Any]:
        """Plain values, as a document keeps them."""
        return asdict(self) | {"ended_on": self.ended_on.isoformat() if self.ended_on else None}


@dataclass(frozen=True, slots=True)
class KeptAction:
    """An action as it stands in its collection, and the version that was read."""

    ref: str
    version: int
    action: DecidedAction


def action_from(plain: Mapping[str, Any]) -> DecidedAction:
    """An action read back from plain values; empty text counts as not said.

    Raises
    ------
    RecordError
        A value cannot be, or a name is not one of an action's.
    """
    known = [each.name for each in fields(DecidedAction)]
    if strange := sorted(set(plain) - set(known)):
        _refuse(strange[0], f"{strange[0]!r} is not understood of an action")
    values: dict[str, Any] = {name: _text(name, plain.get(name)) for name in known}
    values["ended_on"] = _day(values["ended_on"])
    for name, absent in (("what", ""), ("decided", ""), ("state", "open")):
        values[name] = values[name] or absent
    return DecidedAction(**values)


def _text(name: str, value: object) -> str | None:
    if isinstance(value, date):
        return value.isoformat()
    if value is not None and not isinstance(value, str):
        _refuse(name, f"{name.replace('_', ' ')} must be text, found {value!r}")
    return None if value is None else " ".join(value.split()) or None


def _day(text: str | None) -> date | None:
    try:
        return None if text is None else date.fromisoformat(text)
    except ValueError:
        _refuse("ended_on", f"{text!r} is no day")


def _monday(week: str, name: str) -> date:
    found = _WEEK.fullmatch(week)
    if found is None:
        _refuse(name, f"{week!r} is not a week such as 2026-W40")
    try:
        return date.fromisocalendar(int(found[1]), int(found[2]), 1)
    except ValueError:
        _refuse(name, f"there is no week {week}")


def _refuse(field: str, sentence: str) -> NoReturn:
    raise RecordError(f"The action was not kept: {sentence}.", reasons={field: sentence}) from None
