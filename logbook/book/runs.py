"""One run of an open book at a time: log it, correct it, take it back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl

from logbook.book.defective_pieces import pieces_along, refused_pieces
from logbook.book.designs import design_names, designs, told_otherwise
from logbook.errors import RecordError, RunConflict, RunNotFound
from logbook.runs.columns import columns_with
from logbook.runs.intake import ParsedRun, parse_run
from logbook.runs.intake.data_quality import with_stitches_known
from logbook.runs.intake.sewn_designs import (
    SAY_WHICH_FILE,
    with_sewn_designs,
    without_the_file,
)
from logbook.store import Store


@dataclass(frozen=True, slots=True)
class Logged:
    """What became of one run.

    ``added`` is false where the very same run was there already. ``held`` is true while needle
    parts are missing: the pieces must not leave until every part is found.
    """

    run_ref: str
    added: bool
    held: bool
    notes: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Plain values for ``--json``."""
        return {
            "run_ref": self.run_ref,
            "added": int(self.added),
            "skipped": int(not self.added),
            "held": self.held,
            "notes": list(self.notes),
        }


def now_at(store: Store) -> datetime:
    """The present moment in the shop's zone, without the zone: as runs are kept."""
    return datetime.now(ZoneInfo(store.shop.timezone)).replace(tzinfo=None, microsecond=0)


def known_spellings(store: Store) -> dict[str, tuple[str, ...]]:
    """Spellings in use of every open list."""
    columns = columns_with(store.shop.own)
    known = {column.name: store.known(column.name) for column in columns if column.open_list}
    in_use = known["design"]
    known["design"] += tuple(name for name in design_names(store) if name not in in_use)
    return known


def log_run(store: Store, values: Mapping[str, Any], *, source: str) -> Logged:
    """Log one run from a form, the command line or a request.

    Parameters
    ----------
    values
        Column names of the run sheet to text or typed values; absent means not recorded.
        Without ``finished_at`` the run is taken to have finished just now.
    source
        Where it came from, kept with the run: ``form``, ``command line`` …

    Raises
    ------
    RecordError
        The run cannot be true; ``reasons`` maps columns to sentences.
    RunConflict
        The reference is taken by a run with other content.
    """
    moment = now_at(store)
    given = {"finished_at": moment.isoformat(sep=" "), **values}
    parsed = parse_run(given, shop=store.shop, known=known_spellings(store), now=moment)
    run = with_sewn_designs(parsed.run, designs(store))
    stored = store.put(run, source=source, as_sent=told_otherwise(store, parsed.run, run))
    run_ref = run["run_ref"].item()
    if stored.conflicts:
        raise RunConflict(
            f"The reference {run_ref} is taken by a run with other content; nothing was logged.",
            f"correct that run with: logbook amend {run_ref} KEY=VALUE…, or use another reference",
        )
    held = parsed.run["needle_parts_found"].item() is False
    return Logged(run_ref, stored.added == 1, held, _notes(store, parsed, run))


def amend_run(
    store: Store,
    run_ref: str,
    changes: Mapping[str, Any],
    *,
    why: str | None,
    source: str,
    seen: int | None = None,
) -> Logged:
    """Correct some values of a run; the version before stays in its history.

    ``added`` of what comes back is false where the run said all that already.

    Parameters
    ----------
    run_ref
        The run to correct.
    changes
        Column names to new values; an empty text or None takes a value back to *not recorded*.
        With another design, or another finish, what the stitch file said is taken from the file
        that belongs to it. The pieces with any defect go along with a count that they were
        taken from.
    why, source
        Kept with the new version.
    seen
        The version that was looked at, where there was one.

    Raises
    ------
    RunNotFound
        No such run.
    RunChanged
        Somebody else changed the run since then.
    RecordError
        The run as corrected cannot be true.
    """
    present = store.runs(refs=[run_ref])
    if present.is_empty():
        withdrawn = " It was withdrawn." if store.history(run_ref) else ""
        raise RunNotFound(
            f"There is no run {run_ref} in the book.{withdrawn}",
            "look the reference up with: logbook export runs.csv",
        )
    if "run_ref" in changes and changes["run_ref"] != run_ref:
        sentence = "a run's reference stays what it is; withdraw the run and log it anew"
        raise RecordError(
            f"The run {run_ref} was not changed: {sentence}.", reasons={"run_ref": sentence}
        )
    before = present.row(0, named=True)
    along = pieces_along(before, changes, store.shop.kinds)
    sent, changes = changes, {**changes, **along.changes}
    values = {name: value for name, value in before.items() if value is not None}
    another_file = any(name in changes for name in SAY_WHICH_FILE)
    if another_file:
        values = without_the_file(values, changes, designs(store))
    for name, value in changes.items():
        if value is None or value == "":
            values.pop(name, None)
        else:
            values[name] = value
    try:
        parsed = parse_run(
            values,
            shop=store.shop,
            known=known_spellings(store),
            now=now_at(store),
            outcome_needed=False,
        )
    except RecordError as problem:
        raise refused_pieces(problem, sent, along, store.shop.kinds) from problem
    run = with_sewn_designs(parsed.run, designs(store)) if another_file else parsed.run
    store.amend(run_ref, run, why=why, source=source, seen=seen)
    held = run["needle_parts_found"].item() is False
    notes = (*along.notes, *_notes(store, parsed, run))
    return Logged(run_ref, not run.equals(present), held, notes)


def _notes(store: Store, parsed: ParsedRun, run: pl.DataFrame) -> tuple[str, ...]:
    return with_stitches_known(parsed.notes, parsed.run, run, store.shop)


def withdraw_run(
    store: Store, run_ref: str, *, why: str, source: str, seen: int | None = None
) -> None:
    """Take a run out of every count; it stays in the history with the reason.

    Raises
    ------
    RecordError
        No reason was given.
    RunNotFound, RunConflict
        No such run, or withdrawn already.
    RunChanged
        Somebody else changed the run since the version ``seen``.
    """
    if not why.strip():
        raise RecordError(
            f"The run {run_ref} was not withdrawn: say why.",
            'add the reason, such as --why "entered twice"',
            reasons={"why": "a withdrawn run needs a reason"},
        )
    store.withdraw(run_ref, why=why.strip(), source=source, seen=seen)
