"""A contract embroiderer's made-up record: many lots, designs and machines, with known effects.

By hand, to keep one as a book::

    uv run python tests/benchmarks/contract_year.py FOLDER --runs 100000 --lots 3000
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import polars as pl
from numpy.typing import NDArray

from logbook.runs.columns import run_schema
from logbook.store import new_book
from logbook.vocabulary.defects import DEFECT_KINDS

Floats: TypeAlias = NDArray[np.float64]
Codes: TypeAlias = NDArray[np.int64]

BACKINGS = ("cut_away", "tear_away", "sheer_mesh", "fusible_sheer_mesh", "none")
WEIGHTS_GSM = (44.0, 51.0, 68.0, 85.0)
PIECE_KINDS = tuple(kind.name for kind in DEFECT_KINDS if kind.measure == "pieces")
EFFECT_SDS = {"design": 0.4, "lot": 0.4, "fabric": 0.5, "backing": 0.3, "machine": 0.2}
EFFECT_SDS |= {"operator": 0.15, "hooping": 0.2, "needle_nm": 0.15, "fabric and backing": 0.25}
RUN_SD = 0.5
DAYS = 365


@dataclass(frozen=True, slots=True)
class ShopSize:
    """How many of each there are; of ``lots`` and ``designs`` none: they are not written down."""

    runs: int
    lots: int = 3_000
    designs: int = 2_000
    suppliers: int = 12
    machines: int = 200
    operators: int = 120
    fabrics: int = 12


def contract_runs(size: ShopSize, seed: int = 1) -> pl.DataFrame:
    """Make up runs; each lot is of one supplier, backing and weight and in use for some weeks."""
    rng = np.random.default_rng(seed)
    codes = _setups(size, rng)
    columns = {**_words(size, codes), **_counts(size, codes, rng)}
    start = pl.lit(datetime(2025, 1, 1))
    schema = run_schema()
    return (
        pl.DataFrame(columns)
        .with_columns(finished_at=start + pl.col("finished_at").cast(pl.Duration("us")))
        .with_columns(
            pl.lit(None, dtype).alias(name) for name, dtype in schema.items() if name not in columns
        )
        .select(pl.col(name).cast(dtype) for name, dtype in schema.items())
    )


def keep_contract_year(folder: Path, size: ShopSize) -> None:
    """Make a book of such runs."""
    with new_book(str(folder)) as store:
        store.put(contract_runs(size), source="benchmark")


def _setups(size: ShopSize, rng: np.random.Generator) -> dict[str, Codes]:
    """Draw what each run was sewn with; designs are popular unevenly, and keep to a fabric."""
    lots = max(size.lots, 300)
    design_count = max(size.designs, 1)
    of_lot = {
        "backing_supplier": rng.integers(0, size.suppliers, lots),
        "backing": rng.integers(0, len(BACKINGS) - 1, lots),
        "backing_gsm": rng.integers(0, len(WEIGHTS_GSM), lots),
    }
    lot = rng.integers(0, lots, size.runs)
    liking = rng.exponential(size=design_count)
    design = rng.choice(design_count, size.runs, p=liking / liking.sum())
    usual_fabric = rng.integers(0, size.fabrics, design_count)
    strays = rng.random(size.runs) < 0.3
    codes = {
        "backing_lot": lot,
        "design": design,
        "fabric": np.where(strays, rng.integers(0, size.fabrics, size.runs), usual_fabric[design]),
        **{name: choice[lot] for name, choice in of_lot.items()},
        "day": np.sort(rng.integers(0, DAYS, size.runs)),
        "machine": rng.integers(0, size.machines, size.runs),
        "operator": rng.integers(0, size.operators, size.runs),
        "density": rng.integers(0, 5, design_count)[design],
    }
    for name, many in {"fabric_shade": 3, "backing_layers": 2, "topping": 2, "hooping": 3}.items():
        codes[name] = rng.integers(0, many, size.runs)
    for name, many in {"needle_nm": 4, "needle_point": 2, "speed_spm": 3, "thread": 4}.items():
        codes[name] = rng.integers(0, many, size.runs)
    bare = rng.random(size.runs) < 0.1
    codes["backing"] = np.where(bare, len(BACKINGS) - 1, codes["backing"])
    return codes


def _words(size: ShopSize, codes: dict[str, Codes]) -> dict[str, Any]:
    bare = codes["backing"] == len(BACKINGS) - 1

    def words(name: str, named: list[Any], where: NDArray[np.bool_] | None = None) -> pl.Series:
        found = pl.Series(named).gather(codes[name])
        return found if where is None else found.set(pl.Series(where), None)

    def numbered(name: str, stem: str, many: int) -> list[str]:
        return [f"{stem} {number:04d}" for number in range(many)]

    shades, layers = ["light", "mid", "dark"], [1, 2]
    lots = numbered("backing_lot", "L", max(size.lots, 300))
    columns: dict[str, Any] = {
        "run_ref": pl.Series([f"R-{number}" for number in range(size.runs)]),
        "finished_at": codes["day"] * 86_400_000_000 + np.arange(size.runs),
        "machine": words("machine", numbered("machine", "M", size.machines)),
        "operator": words("operator", numbered("operator", "O", size.operators)),
        "thread": words("thread", ["rayon", "polyester", "matt", "metallic"]),
        "fabric": words("fabric", numbered("fabric", "fabric", size.fabrics)),
        "fabric_shade": words("fabric_shade", shades),
        "backing": words("backing", list(BACKINGS)),
        "backing_gsm": words("backing_gsm", list(WEIGHTS_GSM), bare),
        "backing_layers": words("backing_layers", layers, bare),
        "backing_supplier": words(
            "backing_supplier", numbered("backing_supplier", "mill", size.suppliers), bare
        ),
        "topping": words("topping", ["none", "water_soluble_film"]),
        "hooping": words("hooping", ["hooped", "floated", "clamped"]),
        "needle_nm": words("needle_nm", [65, 70, 75, 80]),
        "needle_point": words("needle_point", ["sharp", "light_ball"]),
        "speed_spm": words("speed_spm", [650.0, 750.0, 850.0]),
        "density": words("density", [2.0, 3.5, 4.5, 5.5, 7.0]),
    }
    if size.lots:
        columns["backing_lot"] = words("backing_lot", lots, bare)
    if size.designs:
        columns["design"] = words("design", numbered("design", "design", size.designs))
    return columns


def _counts(size: ShopSize, codes: dict[str, Codes], rng: np.random.Generator) -> dict[str, Any]:
    inspected = rng.integers(12, 100, size.runs)
    both = codes["fabric"] * len(BACKINGS) + codes["backing"]
    named = {**codes, "lot": codes["backing_lot"], "fabric and backing": both}
    counts: dict[str, Any] = {
        "pieces_sewn": inspected,
        "pieces_inspected": inspected,
        "stitches_per_piece": rng.integers(2_000, 15_000, size.runs),
    }
    any_defect = np.zeros(size.runs, dtype=np.int64)
    for place, kind in enumerate(PIECE_KINDS):
        eta = np.full(size.runs, -3.6 - 0.25 * (place % 5))
        for name, sd in EFFECT_SDS.items():
            effects = rng.normal(0.0, sd, int(named[name].max()) + 1)
            eta += effects[named[name]]
        eta += rng.normal(0.0, RUN_SD, size.runs)
        counts[kind] = rng.binomial(inspected, 1.0 / (1.0 + np.exp(-eta)))
        any_defect += counts[kind]
    counts["pieces_spoiled"] = rng.binomial(np.minimum(any_defect, inspected), 0.2)
    counts["thread_breaks"] = rng.poisson(0.3, size.runs)
    return counts


def main() -> None:
    """Keep a book."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--runs", type=int, default=100_000)
    parser.add_argument("--lots", type=int, default=3_000)
    parser.add_argument("--designs", type=int, default=2_000)
    options = parser.parse_args()
    keep_contract_year(options.folder, ShopSize(options.runs, options.lots, options.designs))


if __name__ == "__main__":
    main()
