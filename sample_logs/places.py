"""Where on the designs the year's puckering showed, and where its threads broke. Invented.

Most puckering of the drawn crest and lettering sits where they are densest, and head 4 of the
six-head machine breaks more thread than its share from autumn on.
"""

import datetime as dt
import json
from typing import Any

import numpy as np
import polars as pl
import pystitch
from numpy.typing import NDArray

from sample_logs.designs import DESIGNS, FOLDER

__all__ = ["BAD_HEAD", "places_file"]

MARKED = ("puckering", "gaps")
DENSE_SHARE = 0.55
"""Of the marks of puckering: the rest falls on any stitch."""
DENSEST = 0.9
BAD_MACHINE, BAD_HEAD, BAD_SHARE = "M2 six-head", 4, 0.6
BREAKS_SINCE = dt.datetime(2026, 8, 1)
NOTED = 0.7
"""Of the breaks since then, the part whose head somebody wrote down."""
MOST_BREAKS_NOTED = 6
UNITS_PER_MM = 10
Points = NDArray[np.float64]


def places_file(runs: pl.DataFrame, seed: int) -> str:
    """Make ``places.json``: for each marked run its places of defects and of breaks."""
    random = np.random.default_rng([seed, 101])
    stitches = {design.name: _stitches(design.file_name) for design in DESIGNS}
    marked = []
    for run in runs.filter(pl.col("design").is_in(list(stitches))).iter_rows(named=True):
        points, dense = stitches[run["design"]]
        places = [
            {"kind": kind, "x_mm": round(float(x), 1), "y_mm": round(float(y), 1)}
            for kind in MARKED
            for x, y in _drawn(random, points, dense, run[kind] or 0, leaning=kind == MARKED[0])
        ]
        breaks = _breaks(random, run, len(points))
        if places or breaks:
            marked.append({"run_ref": run["run_ref"], "places": places, "breaks": breaks})
    return json.dumps(marked, indent=1) + "\n"


def _stitches(file_name: str) -> tuple[Points, Points]:
    """Every needle point in mm, and those in the densest places."""
    pattern = pystitch.read(str(FOLDER / file_name))
    points = np.array(
        [(x, y) for x, y, command in pattern.stitches if command & 0xFF == pystitch.STITCH],
        dtype=np.float64,
    )
    points /= UNITS_PER_MM
    near = np.array([np.count_nonzero(np.all(np.abs(points - at) <= 5, axis=1)) for at in points])
    return points, points[near >= np.quantile(near, DENSEST)]


def _drawn(
    random: np.random.Generator, points: Points, dense: Points, count: int, *, leaning: bool
) -> Points:
    from_dense = leaning & (random.random(count) < DENSE_SHARE)
    chosen = np.where(
        from_dense[:, None],
        dense[random.integers(0, len(dense), count)],
        points[random.integers(0, len(points), count)],
    )
    return np.asarray(chosen + random.normal(0, 1, chosen.shape))


def _breaks(
    random: np.random.Generator, run: dict[str, Any], stitches: int
) -> list[dict[str, Any]]:
    happened = min(run["thread_breaks"] or 0, MOST_BREAKS_NOTED)
    heads = run["head_count"]
    if run["finished_at"] < BREAKS_SINCE or not heads:
        return []
    noted = []
    for _ in range(int(random.binomial(happened, NOTED))):
        bad = run["machine"] == BAD_MACHINE and heads >= BAD_HEAD and random.random() < BAD_SHARE
        head = BAD_HEAD if bad else int(random.integers(1, heads + 1))
        stitch = int(random.integers(1, stitches + 1))
        noted.append({"kind": "thread_breaks", "head": head, "stitch": stitch})
    return noted
