"""Small records on which mixed models are hard to fit.

Few rows, rare counts or single pieces, groups of few or many levels, nested and crossed, spreads
from none to several units: likelihoods with flat ridges, boundaries and more than one peak.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit


def hard_problem(seed: int) -> dict[str, Any]:
    """Return arguments of ``mixed.fit`` for a record that cannot tell much."""
    generator = np.random.default_rng(seed)
    rows = int(generator.choice([8, 12, 20, 40, 80]))
    groups = {
        f"group {number}": _codes(generator, rows) for number in range(generator.integers(1, 4))
    }
    columns = int(generator.integers(1, 4))
    fixed = np.column_stack(
        [np.ones(rows)]
        + [
            generator.normal(size=rows)
            if generator.random() < 0.5
            else generator.integers(2, size=rows)
            for _ in range(columns - 1)
        ]
    ).astype(float)
    eta = fixed @ generator.normal(scale=0.7, size=columns)
    eta += generator.choice([-4.0, -2.0, 0.0])
    for codes in groups.values():
        spread = generator.choice([0.0, 0.3, 1.0, 3.0])
        eta += spread * generator.normal(size=codes.max() + 1)[codes]
    family = str(generator.choice(["binomial", "poisson"]))
    exposure = (
        np.ones(rows, dtype=int)
        if generator.random() < 0.3
        else generator.integers(1, int(generator.choice([5, 40, 400])), size=rows)
    )
    count = (
        generator.binomial(exposure, expit(eta))
        if family == "binomial"
        else generator.poisson(exposure * np.exp(np.minimum(eta, 6.0)))
    )
    given = {"count": count, "exposure": exposure, "fixed": fixed, "groups": groups}
    return {"family": family} | given


def _codes(generator: np.random.Generator, rows: int) -> NDArray[np.intp]:
    """Return the levels of a group: one a row, blocks, or drawn at random."""
    kind = generator.choice(["rows", "blocks", "random"], p=[0.2, 0.4, 0.4])
    if kind == "rows":
        return np.arange(rows)
    levels = int(generator.integers(2, max(3, rows // 2)))
    if kind == "blocks":
        return np.arange(rows) * levels // rows
    return np.unique(generator.integers(levels, size=rows), return_inverse=True)[1]
