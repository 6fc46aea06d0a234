"""Cells of runs with a planted difference, for the tests of fair comparisons."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import polars as pl

from logbook.adjusted_comparison import CELLS_BY

BLANK: dict[str, Any] = dict.fromkeys(CELLS_BY)


def planted(
    *,
    runs: int = 900,
    seed: int = 5,
    supplier_effects: Mapping[str, float] | None = None,
    topping: float = -1.0,
    kind: str = "puckering",
    exposure_unit: float = 1.0,
) -> pl.DataFrame:
    """Runs on three fabrics, two backings and each supplier's six lots of each backing.

    ``supplier_effects`` are log odds (log rates where ``exposure_unit`` is not 1); film lowers the
    rate by ``topping``; numbers of lots are the same for every supplier.
    """
    rng = np.random.default_rng(seed)
    effects = supplier_effects or {"Alder": 0.0, "Birch": 0.8, "Cedar": 0.0}
    names = list(effects)
    rows = []
    lot_luck = rng.normal(0, 0.2, (len(names), 2, 6))
    for number in range(runs):
        supplier, backing = int(rng.integers(len(names))), int(rng.integers(2))
        fabric, lot, film = int(rng.integers(3)), int(rng.integers(6)), bool(rng.integers(2))
        pieces = int(rng.integers(20, 150))
        eta = -3.2 + 0.4 * fabric - 0.3 * backing + topping * film + effects[names[supplier]]
        eta += lot_luck[supplier, backing, lot] + rng.normal(0, 0.3)
        count = (
            rng.binomial(pieces, 1 / (1 + np.exp(-eta)))
            if exposure_unit == 1
            else rng.poisson(pieces * np.exp(eta))
        )
        rows.append(
            BLANK
            | {
                "kind": kind,
                "run_ref": f"R{number}",
                "month": f"2026-{1 + 12 * number // runs:02d}",
                "design": f"Design {rng.integers(20)}",
                "fabric": ("twill", "pique polo", "jersey T-shirt")[fabric],
                "backing": ("cut_away", "sheer_mesh")[backing],
                "weight_band": "light",
                "backing_layers": "1",
                "backing_supplier": names[supplier],
                "backing_lot": f"L{lot}",
                "topping": "water_soluble_film" if film else "none",
                "density_band": ("solid", "close", "layered")[int(rng.integers(3))],
                "runs": 1,
                "exposure": pieces * exposure_unit,
                "count": int(count),
            }
        )
    return pl.DataFrame(rows, schema_overrides=dict.fromkeys(CELLS_BY, pl.String))
