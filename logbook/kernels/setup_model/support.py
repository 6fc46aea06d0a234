"""Whether the record holds enough like runs with a setup to say anything of it.

Outside this rule the intervals do not hold what they say, so that nothing outside it is promised.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logbook.kernels.arguments import BoolArray, FloatArray

FEWEST_RUNS, FEWEST_PIECES, FEWEST_DESIGNS = 5, 150.0, 2
FEWEST_RUNS_JOINTLY = 3


@dataclass(frozen=True, slots=True)
class Support:
    """Like runs that had all the changes: on how many runs, pieces and designs a setup rests."""

    runs: int
    pieces: float
    designs: int
    enough: bool


def support(
    *,
    like: BoolArray,
    changed: Sequence[BoolArray],
    runs: FloatArray,
    pieces: FloatArray,
    design: NDArray[np.intp],
) -> Support:
    """Count the like runs.

    Parameters
    ----------
    like
        (m,) rows like the job (same fabric, near in density).
    changed
        For each change, (m,) rows that had it. Parts that work together (type, weight and layers;
        supplier and type) are one change.
    runs, pieces
        (m,) of each row.
    design
        (m,) codes.

    Returns
    -------
    Support
        Enough where every change has 5 runs, 150 pieces and 2 designs, and several changes have
        3 runs jointly.
    """
    enough = True
    for had in changed:
        own = like & had
        enough &= bool(
            runs[own].sum() >= FEWEST_RUNS
            and pieces[own].sum() >= FEWEST_PIECES
            and np.unique(design[own]).size >= FEWEST_DESIGNS
        )
    joint = np.logical_and.reduce([like, *changed])
    if len(changed) > 1:
        enough &= bool(runs[joint].sum() >= FEWEST_RUNS_JOINTLY)
    return Support(
        runs=int(runs[joint].sum()),
        pieces=float(pieces[joint].sum()),
        designs=int(np.unique(design[joint]).size),
        enough=enough,
    )
