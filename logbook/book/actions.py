"""What weekly reviews decided on: written down, ended, found again, and what came of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from logbook.book.runs import now_at
from logbook.calendar_weeks import days_of, iso_week, weeks_before
from logbook.errors import DocumentChanged, DocumentNotFound, RecordError
from logbook.runs.actions import DecidedAction, KeptAction, State, action_from
from logbook.runs.columns import COLUMNS
from logbook.store import Store
from logbook.vocabulary.choices import normalise
from logbook.vocabulary.defects import kind

COLLECTION = "actions"
WEEKS_COMPARED = 12
"""Weeks before an action was done, and at most since, whose rates are compared."""


def write_action(store: Store, action: DecidedAction, *, source: str) -> KeptAction:
    """Write an action down; the same one again, while it is open, is not written twice.

    Parameters
    ----------
    action
        What was decided; spellings are brought to those in use.
    source
        Where it came from, kept with it: ``Weekly review page``, ``command line``.

    Raises
    ------
    RecordError
        It names something that the book does not know, or cannot be.
    """
    action = _as_in_use(store, action_from(action.plain()))
    while True:
        there = actions(store)
        for each in there:
            if each.action == action:
                return each
        ref = _next_ref(action.decided, {each.ref for each in there})
        try:
            version = store.put_document(
                COLLECTION, ref, action.plain(), source=source, about=action.kind, seen=0
            )
        except DocumentChanged:
            continue  # Somebody else took that number just now.
        return KeptAction(ref, version, action)


def end_action(
    store: Store,
    seen: KeptAction,
    *,
    state: State,
    why: str | None,
    source: str,
    on: date | None = None,
) -> KeptAction:
    """Mark an action as done or dropped, or open it again.

    Parameters
    ----------
    seen
        The action as it was read.
    state
        ``done``, ``dropped`` or ``open``.
    why
        What is to be said of it; needed where it is dropped.
    source
        Where it came from.
    on
        The day of its end; today where not given.

    Raises
    ------
    RecordError
        A dropped action gives no reason, or the day cannot be.
    DocumentChanged
        Somebody else changed it since it was read.
    """
    today = now_at(store).date()
    day = None if state == "open" else on or today
    if day is not None and day > _latest(store, today):
        sentence = f"{day.isoformat()} is still to come"
        raise RecordError(f"The action was not kept: {sentence}.", reasons={"ended_on": sentence})
    ended = replace(seen.action, state=state, ended_on=day, why=(why or "").strip() or None)
    try:
        version = store.put_document(
            COLLECTION,
            seen.ref,
            ended.plain(),
            source=source,
            about=ended.kind,
            why=ended.why,
            seen=seen.version,
        )
    except DocumentChanged as cause:
        raise DocumentChanged(
            f"Somebody else changed the action “{seen.action.what}” meanwhile.",
            "look at it as it stands now; nothing was overwritten",
        ) from cause
    return KeptAction(seen.ref, version, ended)


def actions(store: Store) -> tuple[KeptAction, ...]:
    """Every action, in the order in which they were written."""
    return tuple(
        KeptAction(document.key, document.version, action_from(document.content))
        for document in store.documents(COLLECTION)
    )


def action_named(store: Store, ref: str) -> KeptAction:
    """The action of that reference.

    Raises
    ------
    DocumentNotFound
        There is none.
    """
    wanted = normalise(ref)
    for each in actions(store):
        if normalise(each.ref) == wanted:
            return each
    raise DocumentNotFound(f"There is no action {ref!r}.", "logbook action list names them")


def actions_for(store: Store, week: str) -> tuple[KeptAction, ...]:
    """Those that concern the review of a week, the latest decided last.

    Decided by then, and either still open or decided or ended within the 12 weeks before.
    """
    week = iso_week(days_of(week)[0])
    first = weeks_before(week, WEEKS_COMPARED)[0]
    found = [
        each
        for each in actions(store)
        if each.action.decided <= week and _concerns(each.action, first)
    ]
    return tuple(sorted(found, key=lambda each: each.action.decided))


def _concerns(action: DecidedAction, first: str) -> bool:
    ended = action.ended_on
    return (
        action.state == "open"
        or action.decided >= first
        or (ended is not None and iso_week(ended) >= first)
    )


def _as_in_use(store: Store, action: DecidedAction) -> DecidedAction:
    """Bring names to the spellings of the book; what it does not know is refused."""
    changed: dict[str, Any] = {}
    if action.kind is not None:
        changed["kind"] = kind(action.kind, own=store.shop.own_kinds).name
    columns = {each.name: each for each in COLUMNS}
    for name, value in action.where.items():
        column = columns[name]
        if column.choices is not None:
            found = column.choices.understand(value)
        else:
            known = {normalise(each): each for each in store.known(name)}
            found = known.get(normalise(value))
        if found is None:
            sentence = f"no run names the {column.label.lower()} {value!r}"
            raise RecordError(f"The action was not kept: {sentence}.", reasons={name: sentence})
        changed[name] = found
    return replace(action, **changed)


def _next_ref(week: str, taken: set[str]) -> str:
    number = 1
    while f"{week}-{number}" in taken:
        number += 1
    return f"{week}-{number}"


def _latest(store: Store, today: date) -> date:
    span = store.span()
    return today if span is None else max(today, span[1])
