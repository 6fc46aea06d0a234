"""Places of defects and breaks that a run cannot have."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from logbook.book.design_files import measured_again
from logbook.book.designs import design
from logbook.errors import RecordError, StitchFileError, StoreError
from logbook.runs.defect_locations import BreakLocation, DefectLocation, RunLocations
from logbook.runs.designs import DesignVersion
from logbook.store import Store

BEYOND_MM = 20.0
"""Farther outside the design than that, a place is of something else."""
MOST_HELD = 1_000
Bounds = tuple[float, float, float, float]
_BOUNDS: dict[tuple[str, str], Bounds] = {}
"""By the book and the version: a machine tells many places on one design."""


def refuse_impossible_locations(
    store: Store, run: Mapping[str, Any], *, before: RunLocations, after: RunLocations
) -> None:
    """Refuse added places that the run cannot have.

    Parameters
    ----------
    run
        The run as it stands.
    before, after
        What is marked; what was added comes last.

    Raises
    ------
    RecordError
        A place is of something that the run did not record or have, or far outside its design.
    """
    breaks = after.breaks[len(before.breaks) :]
    places = after.places[len(before.places) :]
    if not breaks and not places:
        return
    found = None if run["design"] is None else design(store, run["design"])
    version = None if found is None else found.version(run["design_version"])
    for kind in dict.fromkeys([each.kind for each in breaks] + [each.kind for each in places]):
        _refuse_none_recorded(kind, run)
    if breaks:
        _refuse_more_than_counted(breaks, before.breaks, run)
        _refuse_other_heads(breaks, run)
    if version is not None:
        _refuse_later_stitches(breaks, version)
        _refuse_far_outside(store, places, version)


def _refuse_none_recorded(kind: str, run: Mapping[str, Any]) -> None:
    if run.get(kind):
        return
    words = kind.replace("_", " ")
    says = f"the run {'did not record' if run.get(kind) is None else 'counted no'} {words}"
    raise _refused("place", kind, says, "correct the run's count first")


def _refuse_more_than_counted(
    added: Sequence[BreakLocation], before: Sequence[BreakLocation], run: Mapping[str, Any]
) -> None:
    placed = Counter(each.kind for each in before)
    for kind, more in Counter(each.kind for each in added).items():
        counted = run[kind] or 0
        if placed[kind] + more > counted:
            words = kind.replace("_", " ")
            says = f"the run counted {counted} {words}, and {placed[kind]} are placed already"
            hint = "correct the run's count first, or take a place back"
            raise _refused("break", kind, says, hint)


def _refuse_other_heads(breaks: Sequence[BreakLocation], run: Mapping[str, Any]) -> None:
    heads = run["head_count"]
    for each in breaks:
        if heads is not None and each.head is not None and each.head > heads:
            says = f"there is no head {each.head}: the run sewed on {heads}"
            hint = "name another head, or correct the run's head count first"
            raise _refused("break", "head", says, hint)


def _refuse_later_stitches(breaks: Sequence[BreakLocation], version: DesignVersion) -> None:
    for each in breaks:
        if each.stitch is not None and each.stitch > version.stitches:
            says = (
                f"there is no stitch {each.stitch:,}: the design's file {version.file_name} has "
                f"{version.stitches:,}"
            )
            hint = "count from the first stitch of one piece, or correct the run's design first"
            raise _refused("break", "stitch", says, hint)


def _refuse_far_outside(
    store: Store, places: Sequence[DefectLocation], version: DesignVersion
) -> None:
    bounds = _bounds(store, version) if places else None
    if bounds is None:
        return
    left, top, right, bottom = bounds
    for each in places:
        beside = max(left - each.x_mm, each.x_mm - right, top - each.y_mm, each.y_mm - bottom)
        if beside > BEYOND_MM:
            says = (
                f"{each.x_mm:g}, {each.y_mm:g} mm is {beside:,.0f} mm outside the design, which "
                f"lies from {left:g}, {top:g} to {right:g}, {bottom:g} mm"
            )
            hint = "give the place in the design's own millimetres"
            raise _refused("place", "places", says, hint)


def _bounds(store: Store, version: DesignVersion) -> Bounds | None:
    """Where the design lies, in its own millimetres; None where its file cannot be read."""
    name = (store.place, version.digest)
    bounds = _BOUNDS.get(name)
    if bounds is None:
        try:
            found = measured_again(store, version)
        except (StoreError, StitchFileError, OSError):
            return None  # Without its file nothing is known against a place.
        if len(_BOUNDS) >= MOST_HELD:
            _BOUNDS.clear()
        right, bottom = found.left_mm + found.width_mm, found.top_mm + found.height_mm
        bounds = _BOUNDS[name] = (found.left_mm, found.top_mm, right, bottom)
    return bounds


def _refused(what: str, column: str, says: str, hint: str) -> RecordError:
    return RecordError(f"The {what} was not kept: {says}.", hint, reasons={column: says})
