"""Findings that somebody said are known: they keep their course, and leave the search."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from logbook.calendar_weeks import days_of, iso_week
from logbook.errors import DocumentNotFound, RecordError
from logbook.runs.known_findings import LONGEST_WHY, KnownFinding
from logbook.store import Store

COLLECTION = "known_findings"


def known_findings(store: Store) -> tuple[KnownFinding, ...]:
    """Every finding that is said to be known, the first said first."""
    return tuple(_read(each.content) for each in store.documents(COLLECTION))


def keep_known(store: Store, finding: KnownFinding, *, source: str) -> KnownFinding:
    """Keep a finding as known.

    Raises
    ------
    RecordError
        Its weeks are none, or too much is said of it.
    """
    if len(finding.why or "") > LONGEST_WHY:
        sentence = f"the reason has more than {LONGEST_WHY} letters"
        raise RecordError(f"The finding was not kept: {sentence}.", reasons={"why": sentence})
    days_of(finding.since)
    kept = {**asdict(finding), "said": iso_week(days_of(finding.said)[0])}
    kept["level"] = dict(finding.level)
    store.put_document(COLLECTION, finding.ref, kept, source=source, about=finding.kind)
    return finding


def forget_known(store: Store, ref: str, *, source: str) -> None:
    """Take a finding out of those that are known, so that it is looked for again.

    Raises
    ------
    DocumentNotFound
        None of that reference is known.
    """
    try:
        store.withdraw_document(COLLECTION, ref, why="looked for again", source=source)
    except DocumentNotFound as cause:
        raise DocumentNotFound(
            f"No finding {ref!r} is known.", "logbook known list names them"
        ) from cause


def _read(content: Mapping[str, Any]) -> KnownFinding:
    names = KnownFinding.__dataclass_fields__
    return KnownFinding(**{name: value for name, value in content.items() if name in names})
