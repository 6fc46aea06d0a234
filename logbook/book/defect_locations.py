"""Places of defects and breaks: kept with their run."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from logbook.book.location_checks import refuse_impossible_locations
from logbook.errors import DocumentChanged, RunNotFound
from logbook.runs.defect_locations import (
    BreakLocation,
    DefectLocation,
    RunLocations,
    locations_from,
)
from logbook.store import Document, Store

COLLECTION = "marks"
Mark = TypeVar("Mark")
TRIES = 8
KEYS_KEPT = 100
"""Of each run: senders repeat what they sent a moment ago."""


def add_locations(
    store: Store,
    run_ref: str,
    *,
    places: Sequence[DefectLocation] = (),
    breaks: Sequence[BreakLocation] = (),
    source: str,
) -> RunLocations:
    """Add places to those of a run; what others marked meanwhile stays.

    Parameters
    ----------
    run_ref
        The run.
    places, breaks
        What to add.
    source
        Kept with the places.

    Raises
    ------
    RunNotFound
        There is no such run.
    RecordError
        More breaks would be placed than the run counted, a head, a stitch or a defect that the
        run did not have, or a place that cannot be.
    """

    def added(marks: RunLocations) -> RunLocations:
        return _with(marks, places, breaks)

    return _changed(store, run_ref, added, source=source)[0]


def add_locations_once(
    store: Store,
    run_ref: str,
    *,
    places: Sequence[DefectLocation] = (),
    breaks: Sequence[BreakLocation] = (),
    source: str,
    request: tuple[str, str],
) -> tuple[RunLocations, bool]:
    """Add places under a sender's key; nothing where the key was among the last of this run.

    Parameters
    ----------
    store, run_ref, places, breaks, source
        As for :func:`add_locations`, which also says what is raised.
    request
        The sender's key, and a fingerprint of what was sent under it.

    Returns
    -------
    tuple[RunLocations, bool]
        The run's marks, with the fingerprint that the key stands for in ``requests``; and whether
        they were added now.
    """

    def added(marks: RunLocations) -> RunLocations:
        if request[0] in marks.requests:
            return marks
        kept = dict([*marks.requests.items(), request][-KEYS_KEPT:])
        return replace(_with(marks, places, breaks), requests=kept)

    return _changed(store, run_ref, added, source=source)


def remove_location(
    store: Store, run_ref: str, mark: DefectLocation | BreakLocation, *, source: str
) -> RunLocations:
    """Take one place of a run back, the last where several are alike."""

    def without(marks: RunLocations) -> RunLocations:
        return replace(
            marks,
            places=_without(marks.places, mark),
            breaks=_without(marks.breaks, mark),
        )

    return _changed(store, run_ref, without, source=source)[0]


def locations_of_run(store: Store, run: Mapping[str, Any]) -> RunLocations:
    """What is marked on a run as it stands; nothing where nothing was.

    Places on the drawing of another design, or of another version, than the run has now cannot
    be shown on this one: of those only heads and needles of breaks are left. They stay in the
    document, and are back once the run is corrected to be of that drawing again.
    """
    documents = store.documents(COLLECTION, keys=[run["run_ref"]])
    return as_it_stands(documents[0] if documents else None, run)


def locations_on_design(store: Store, design: str) -> tuple[RunLocations, ...]:
    """What is marked on the runs of a design, each as the run stands now."""
    documents = {document.key: document for document in documents_about(store, design)}
    runs = store.runs(refs=list(documents)).select("run_ref", "design", "design_version")
    return tuple(
        as_it_stands(documents[run["run_ref"]], run)
        for run in runs.iter_rows(named=True)
        if run["design"] == design
    )


def documents_about(store: Store, design: str) -> tuple[Document, ...]:
    """Documents with marks of a design, whatever their run was said to be of when last marked."""
    return tuple(
        document
        for document in store.documents(COLLECTION)
        if document.about == design
        or any(each.get("design") == design for each in document.content.get("other_drawings", ()))
    )


def _changed(
    store: Store, run_ref: str, change: Callable[[RunLocations], RunLocations], *, source: str
) -> tuple[RunLocations, bool]:
    """What is marked after a change, and whether anything was written."""
    found = store.runs(refs=[run_ref])
    if found.is_empty():
        raise RunNotFound(f"There is no run {run_ref} to mark places on.", "log the run first")
    run = found.row(0, named=True)
    for _ in range(TRIES):
        documents = store.documents(COLLECTION, keys=[run_ref])
        before = as_it_stands(documents[0] if documents else None, run)
        marks = change(before)
        if marks is before:
            return before, False
        refuse_impossible_locations(store, run, before=before, after=marks)
        try:
            store.put_document(
                COLLECTION,
                run_ref,
                marks.plain(),
                source=source,
                about=run["design"],
                seen=documents[0].version if documents else 0,
            )
        except DocumentChanged:
            continue
        return marks, True
    raise DocumentChanged(
        f"The places of run {run_ref} are being changed by others all the time.", "try again"
    )


def as_it_stands(document: Document | None, run: Mapping[str, Any]) -> RunLocations:
    """What a document marks on a run as the run stands, see :func:`locations_of_run`."""
    design, version = run["design"], run["design_version"]
    if document is None:
        return RunLocations(run["run_ref"], design, version)
    marks = locations_from(document.key, document.about, document.content)
    if (marks.design, marks.design_version) == (design, version):
        return marks
    left = replace(marks, requests={}, other_drawings=())
    drawings = {(each.design, each.design_version): each for each in marks.other_drawings}
    drawings |= {(left.design, left.design_version): left}
    own = drawings.pop((design, version), RunLocations(run["run_ref"], design, version))
    return replace(
        own,
        breaks=_carried_over(marks.breaks, own.breaks),
        requests=marks.requests,
        other_drawings=tuple(drawings.values()),
    )


def _carried_over(
    breaks: Sequence[BreakLocation], own: Sequence[BreakLocation]
) -> tuple[BreakLocation, ...]:
    """Breaks as they stand on another drawing, on one that had ``own`` of them before.

    Heads and needles are of the machine, whatever was sewn: what was added or taken back since
    stays so. Colour steps and stitches are of one drawing alone.
    """
    left = list(own)
    carried = []
    for each in breaks:
        apart = replace(each, colour_step=None, stitch=None)
        if not (apart.head or apart.needle):
            continue
        same = (old for old in left if replace(old, colour_step=None, stitch=None) == apart)
        known = next(same, None)
        if known is not None:
            left.remove(known)
        carried.append(known or apart)
    return (*carried, *(each for each in left if not (each.head or each.needle)))


def _with(
    marks: RunLocations, places: Sequence[DefectLocation], breaks: Sequence[BreakLocation]
) -> RunLocations:
    return replace(marks, places=(*marks.places, *places), breaks=(*marks.breaks, *breaks))


def _without(marks: tuple[Mark, ...], mark: object) -> tuple[Mark, ...]:
    at = max((place for place, each in enumerate(marks) if each == mark), default=None)
    return marks if at is None else (*marks[:at], *marks[at + 1 :])
