"""What a design's stitch file says of the run at hand: its density and its stitches."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboards.run_entry.typed import put, typed
from logbook.book.designs import design
from logbook.store import Store

OF_THE_FILE = ("density", "stitches_per_piece")
_TAKEN = "taken_of_the_design"


def of_the_file(store: Store, setup: Mapping[str, Any]) -> dict[str, Any]:
    """An earlier run's setup with what the file in use says; the file may be newer than the run."""
    found = design(store, setup["design"]) if setup.get("design") else None
    now = dict(setup)
    if found is not None:
        now |= {
            "density": found.newest.density_densest,
            "stitches_per_piece": found.newest.stitches,
        }
    put(_TAKEN, {name: now.get(name) for name in OF_THE_FILE})
    return now


def of_this_design(store: Store, run: Mapping[str, Any]) -> dict[str, Any]:
    """The run without what was taken over and not typed, where its design's own file says it.

    The design may have been changed since, or its file.
    """
    taken = typed(_TAKEN) or {}
    if run.get("design") is None or design(store, run["design"]) is None:
        return dict(run)
    stale = [name for name in OF_THE_FILE if run.get(name) == taken.get(name)]
    return {name: value for name, value in run.items() if name not in stale}
