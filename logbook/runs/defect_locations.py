"""Where on the design something went wrong: places of defects, and of thread and needle breaks."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from logbook.errors import RecordError

MOST_LOCATIONS = 500
"""Of one run: beyond that a tap is a slip."""
FARTHEST_MM = 2_000.0
LARGEST = {"head": 100, "needle": 30, "colour_step": 500, "stitch": 5_000_000}


@dataclass(frozen=True, slots=True)
class DefectLocation:
    """One defect's place in the design's own coordinates, in mm."""

    kind: str
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class BreakLocation:
    """One break, with what the operator could say of it; ``None`` where nothing was said.

    ``colour_step`` counts from 1 in the order of sewing, ``stitch`` is the number that the
    machine shows, heads and needles are numbered as on the machine.
    """

    kind: str
    head: int | None = None
    needle: int | None = None
    colour_step: int | None = None
    stitch: int | None = None


@dataclass(frozen=True, slots=True)
class RunLocations:
    """All places of one run, with the design and its version that they are on.

    ``requests`` holds those that were taken under a key of their sender's: the fingerprint of
    what each brought, by its key. ``other_drawings`` are locations from when the run was said to be
    of another design or version: they count again should it be so once more.
    """

    run_ref: str
    design: str | None
    design_version: str | None
    places: tuple[DefectLocation, ...] = ()
    breaks: tuple[BreakLocation, ...] = ()
    requests: Mapping[str, str] = field(default_factory=dict)
    other_drawings: tuple[RunLocations, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what cannot be true."""
        if len(self.places) + len(self.breaks) > MOST_LOCATIONS:
            raise _refused("places", f"more than {MOST_LOCATIONS} places were marked on one run")
        for place in self.places:
            if not all(
                math.isfinite(at) and abs(at) <= FARTHEST_MM for at in (place.x_mm, place.y_mm)
            ):
                raise _refused("places", f"a place {place.x_mm!r}, {place.y_mm!r} mm is no place")
        for each in self.breaks:
            for name, most in LARGEST.items():
                value = getattr(each, name)
                if value is not None and not 1 <= value <= most:
                    words = name.replace("_", " ")
                    raise _refused(name, f"{words} {value} cannot be; it is a number from 1 on")

    def plain(self) -> dict[str, Any]:
        """Plain values, as a document keeps them."""
        others = [{"design": each.design, **each.plain()} for each in self.other_drawings]
        return {
            "design_version": self.design_version,
            "places": [asdict(place) for place in self.places],
            "breaks": [asdict(each) for each in self.breaks],
            **({"requests": dict(self.requests)} if self.requests else {}),
            **({"other_drawings": others} if others else {}),
        }


def locations_from(run_ref: str, design: str | None, told: Mapping[str, Any]) -> RunLocations:
    """A run's marks read back from plain values.

    Raises
    ------
    RecordError
        The values are not those of locations, or cannot be true.
    """
    try:
        return RunLocations(
            run_ref,
            design,
            told.get("design_version"),
            tuple(DefectLocation(**each) for each in _list(told, "places")),
            tuple(BreakLocation(**each) for each in _list(told, "breaks")),
            dict(told.get("requests") or {}),
            tuple(
                locations_from(run_ref, each.get("design"), each)
                for each in _list(told, "other_drawings")
            ),
        )
    except (TypeError, AttributeError, ValueError) as cause:
        raise _refused("places", f"these are not places of a run: {cause}") from cause


def _list(values: Mapping[str, Any], name: str) -> Sequence[Mapping[str, Any]]:
    found = values.get(name) or []
    if not isinstance(found, list):
        raise TypeError(f"{name} is not a list")
    return found


def _refused(column: str, says: str) -> RecordError:
    return RecordError(
        f"The places were not kept: {says}.",
        "mark them again on the drawing",
        reasons={column: says},
    )
