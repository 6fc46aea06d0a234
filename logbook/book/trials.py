"""Trials kept in the book: written down, started, ended, found again with the runs they have."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from logbook.book.runs import now_at
from logbook.errors import DocumentChanged, DocumentNotFound, RecordError
from logbook.runs.trial_pairs import SewnTrial, sewn_trial
from logbook.runs.trials import KeptTrial, Trial, trial_from
from logbook.store import Store, Window
from logbook.vocabulary.choices import normalise

COLLECTION = "trials"


def write_trial(store: Store, trial: Trial, *, source: str) -> KeptTrial:
    """Write a planned trial down under the next free reference: ``T1``, ``T2``."""
    while True:
        taken = {each.ref for each in trials(store)}
        number = 1
        while f"T{number}" in taken or store.document_history(COLLECTION, f"T{number}"):
            number += 1
        ref = f"T{number}"
        try:
            version = store.put_document(
                COLLECTION, ref, trial.plain(), source=source, about=trial.defect, seen=0
            )
        except DocumentChanged:
            continue  # Somebody else took that number just now.
        return KeptTrial(ref, version, trial)


def start_trial(store: Store, seen: KeptTrial, *, source: str, on: date | None = None) -> KeptTrial:
    """Start a planned trial: from now on the form offers its loads.

    Raises
    ------
    RecordError
        It runs or has ended already.
    DocumentChanged
        Somebody else changed it since it was read.
    """
    if seen.trial.state != "planned":
        sentence = f"it is {seen.trial.state} already"
        raise RecordError(f"Trial {seen.ref} was not started: {sentence}.",
                          reasons={"state": sentence})  # fmt: skip
    started = replace(seen.trial, state="running", started_on=on or now_at(store).date())
    return _kept(store, seen, started, source)


def end_trial(
    store: Store,
    seen: KeptTrial,
    *,
    why: str | None,
    verdict: str | None,
    says: str | None,
    source: str,
    on: date | None = None,
) -> KeptTrial:
    """End a trial and keep what it was judged to be; ended trials are not opened again.

    Raises
    ------
    RecordError
        It has ended already.
    DocumentChanged
        Somebody else changed it since it was read.
    """
    if seen.trial.state == "ended":
        sentence = "it has ended already"
        raise RecordError(f"Trial {seen.ref} was not ended: {sentence}.",
                          reasons={"state": sentence})  # fmt: skip
    ended = replace(
        seen.trial,
        state="ended",
        ended_on=on or now_at(store).date(),
        why=" ".join((why or "").split()) or None,
        verdict=verdict,
        says=says,
    )
    return _kept(store, seen, ended, source)


def _kept(store: Store, seen: KeptTrial, trial: Trial, source: str) -> KeptTrial:
    try:
        version = store.put_document(
            COLLECTION,
            seen.ref,
            trial.plain(),
            source=source,
            about=trial.defect,
            why=trial.why,
            seen=seen.version,
        )
    except DocumentChanged as cause:
        raise DocumentChanged(
            f"Somebody else changed trial {seen.ref} meanwhile.",
            "look at it as it stands now; nothing was overwritten",
        ) from cause
    return KeptTrial(seen.ref, version, trial)


def trials(store: Store) -> tuple[KeptTrial, ...]:
    """Every trial, in the order in which they were planned."""
    return tuple(
        KeptTrial(document.key, document.version, trial_from(document.content))
        for document in store.documents(COLLECTION)
    )


def running_trials(store: Store) -> tuple[KeptTrial, ...]:
    """Those that are being sewn."""
    return tuple(each for each in trials(store) if each.trial.state == "running")


def trial_named(store: Store, ref: str | None) -> KeptTrial:
    """The trial of that reference; without one the only one that is not ended.

    Raises
    ------
    DocumentNotFound
        There is none, or several could be meant.
    """
    kept = trials(store)
    if ref is None:
        open_ones = [each for each in kept if each.trial.state == "running"] or [
            each for each in kept if each.trial.state == "planned"
        ]
        if len(open_ones) == 1:
            return open_ones[0]
        names = ", ".join(each.ref for each in open_ones) or "none is planned or running"
        raise DocumentNotFound(f"Which trial is meant is not told ({names}).",
                               "name one; logbook trial list names them all")  # fmt: skip
    for each in kept:
        if normalise(each.ref) == normalise(ref):
            return each
    raise DocumentNotFound(f"There is no trial {ref!r}.", "logbook trial list names them")


def sewn_of(store: Store, kept: KeptTrial) -> SewnTrial:
    """What was sewn of a trial, paired."""
    runs = store.runs(Window(where={"trial": kept.ref}))
    return sewn_trial(kept.trial, runs.to_dicts())
