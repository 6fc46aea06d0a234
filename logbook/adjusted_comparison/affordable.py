"""Whether the machine has the memory that a fit would take, asked before it begins.

A book too large for the machine would fill its memory and take the other questions with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from logbook.errors import AnalysisError
from logbook.kernels.setup_model import Setups, Term, fit
from logbook.kernels.setup_model.fitting import SetupFit
from logbook.kernels.setup_model.terms import lay_out

NUMBER_BYTES = 8
MATRICES_AT_WORK = 3
"""Square matrices over all effects but those of the largest term that a step holds at once."""
ROW_BYTES_AT_WORK = 400
SPARED = 0.9
"""Share of the free memory that a question may take."""
GIGABYTE = 1e9
_FREE, _LIMIT, _USED = (
    Path(place)
    for place in (
        "/proc/meminfo",
        "/sys/fs/cgroup/memory.max",
        "/sys/fs/cgroup/memory.current",
    )
)


def fit_affordable(*, setups: Setups, terms: Sequence[Term], kept: int = 1) -> SetupFit:
    """Fit the model, unless the memory for it is not there.

    Parameters
    ----------
    setups, terms
        As for :func:`logbook.kernels.setup_model.fit`.
    kept
        How many such fits are kept side by side.

    Raises
    ------
    AnalysisError
        It would take more memory than is free; says how much, and what narrowing helps.
    KernelError
        As the fit itself.
    """
    wanted, free = bytes_wanted(setups, terms, kept=kept), free_bytes()
    if free is not None and wanted > SPARED * free:
        raise AnalysisError(
            f"Comparing these {setups.trials.size:,} rows takes about {wanted / GIGABYTE:.1f} GB "
            f"of memory, and {free / GIGABYTE:.1f} GB are free.",
            "Narrow the dates or take one site, so that fewer lots and designs are compared at "
            "once; or ask again when other programs are done.",
        )
    return fit(setups=setups, terms=terms)


def bytes_wanted(setups: Setups, terms: Sequence[Term], *, kept: int = 1) -> float:
    """Memory that a fit takes at most, beside the rows themselves; about a third too high."""
    layout = lay_out(terms, setups.factors, setups.slopes)
    others = float(layout.size - np.diff(layout.starts).max())
    matrix, rows = NUMBER_BYTES * others**2, float(setups.trials.size)
    at_work = MATRICES_AT_WORK * matrix + ROW_BYTES_AT_WORK * rows
    return at_work + kept * (matrix + NUMBER_BYTES * len(layout.terms) * rows)


def free_bytes() -> float | None:
    """Memory that is free on this machine and to this process; None where it does not say."""
    found = [each for each in (_free_on_machine(), _free_in_group()) if each is not None]
    return min(found, default=None)


def _free_on_machine() -> float | None:
    try:
        lines = _FREE.read_text().splitlines()
    except OSError:
        return None
    told = [line for line in lines if line.startswith("MemAvailable:")]
    return float(told[0].split()[1]) * 1024 if told else None


def _free_in_group() -> float | None:
    try:
        limit, used = _LIMIT.read_text().strip(), _USED.read_text().strip()
    except OSError:
        return None
    return None if limit == "max" else float(limit) - float(used)
