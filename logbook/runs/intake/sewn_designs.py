"""What a design's stitch file says of a run: which version was sewn, how dense, how long."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl

from logbook.runs.designs import Design, DesignVersion, named_by_file

SAY_WHICH_FILE = ("design", "design_version", "finished_at")
"""What decides which stitch file a run was sewn from."""
FILLED = ("design", "design_version", "density", "stitches_per_piece")


def with_sewn_designs(runs: pl.DataFrame, designs: Sequence[Design]) -> pl.DataFrame:
    """Name each run's design version, and take from its file what the run leaves out.

    A run names its design, or its file by the content hash. The version is the one in use when
    the run finished, unless the run says which; of it come the density, and the stitches a piece
    where the run says nothing of stitches. The same run gets the same values at any later
    import, as long as no version is added whose beginning lies before the run's finish.

    Parameters
    ----------
    runs
        A run frame, names spelled as known.
    designs
        The shop's designs.
    """
    if not designs or runs["design"].null_count() == runs.height:
        return runs
    by_name = {design.name: design for design in designs}
    wanted = [*FILLED, "finished_at", "stitches_sewn"]
    rows = [_filled(row, by_name, designs) for row in runs.select(wanted).iter_rows(named=True)]
    columns = [
        pl.Series(name, [row[name] for row in rows], dtype=runs.schema[name]) for name in FILLED
    ]
    return runs.with_columns(columns)


def without_the_file(
    run: Mapping[str, Any], changes: Mapping[str, Any], designs: Sequence[Design]
) -> dict[str, Any]:
    """A run's values without what its stitch file said, where a correction makes it another file.

    Parameters
    ----------
    run
        Recorded values by name.
    changes
        What is corrected; what it tells itself is left to it.
    designs
        The shop's designs.
    """
    left = dict(run)
    if "design_version" not in changes:
        mark = left.pop("design_version", None)
        design = next((each for each in designs if each.name == run.get("design")), None)
        version = None if design is None else design.version(mark)
        if version is not None:
            said = {"density": version.density_densest, "stitches_per_piece": version.stitches}
            for name, value in said.items():
                if name not in changes and left.get(name) == value:
                    left.pop(name)
    return left


def _filled(
    row: Mapping[str, Any], by_name: Mapping[str, Design], designs: Sequence[Design]
) -> dict[str, Any]:
    said = {name: row[name] for name in FILLED}
    if said["design"] is None:
        return said
    version: DesignVersion | None = None
    design = by_name.get(said["design"])
    if design is None and (found := named_by_file(said["design"], designs)):
        design, version = found
        said["design"] = design.name
    if design is None:
        return said
    if said["design_version"] is not None:
        of_file = named_by_file(said["design_version"], [design])
        version = of_file[1] if of_file else None
    elif version is None:
        version = design.sewn_at(row["finished_at"])
    if version is None:
        return said
    said["design_version"] = version.digest
    if said["density"] is None:
        said["density"] = version.density_densest
    if said["stitches_per_piece"] is None and row["stitches_sewn"] is None:
        said["stitches_per_piece"] = version.stitches
    return said
