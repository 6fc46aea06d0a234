"""Makes the invented shop's year again.

Run ``python -m sample_logs.simulate [--folder DIR] [--seed N]``. The same seed gives the same
bytes. Each stage draws from a stream of its own, so that a change to one leaves the others as they
were.
"""

import argparse
import datetime as dt
import json
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl

from sample_logs import FOLDER
from sample_logs.documented import documented_truth
from sample_logs.faults import write_faults
from sample_logs.materials import shop_file
from sample_logs.needles import with_needles
from sample_logs.outcomes import Effects, draw_effects, draw_outcomes
from sample_logs.places import places_file
from sample_logs.plan import plan_runs
from sample_logs.recording import write_down
from sample_logs.sheets import write_sheets
from sample_logs.shelf import shelf_file
from sample_logs.shop import draw_designs
from sample_logs.supplies import FIRST_DAY, LAST_DAY, Lot, draw_lots

__all__ = ["SEED", "Year", "make_year", "write_year"]

SEED = 314
"""Chosen among a dozen so that plain counts on the sheets lie near the planted truth."""


@dataclass(frozen=True, slots=True, eq=False)
class Year:
    """What happened, what was written down of it, and the hidden effects behind it."""

    runs: pl.DataFrame
    """Everything, one row a run: what a faultless record would hold."""
    sheet: pl.DataFrame
    """The same runs as written down: the run sheet's columns, some cells empty."""
    lots: tuple[Lot, ...]
    effects: dict[str, Effects]


def make_year(seed: int = SEED, *, first: dt.date = FIRST_DAY, last: dt.date = LAST_DAY) -> Year:
    """Simulate the shop from one day to another, both counted.

    Lots, designs and hidden effects are those of the whole year, however short the period.
    """
    streams = [np.random.default_rng([seed, stage]) for stage in range(1, 10)]
    designs = draw_designs(streams[0])
    lots = draw_lots(streams[1])
    planned = with_needles(streams[6], plan_runs(streams[2], designs, lots, first, last))
    effects = draw_effects(streams[3], designs, lots)
    runs = draw_outcomes(streams[4], planned, effects, raised=streams[7])
    return Year(runs, write_down(streams[5], runs, needles=streams[8]), lots, effects)


def write_year(folder: Path, seed: int = SEED) -> list[Path]:
    """Write the run sheets, the faulty sheet, the shop's lists and the truth into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    year = make_year(seed)
    paths = write_sheets(folder, year.sheet)
    paths += write_faults(folder)
    truth = json.dumps(documented_truth(seed, year.lots, year.effects), indent=1)
    lists = (
        ("shop.toml", shop_file()),
        ("materials.json", shelf_file(year.lots)),
        ("places.json", places_file(year.sheet, seed)),
        ("truth.json", truth + "\n"),
    )
    for name, text in lists:
        paths.append(folder / name)
        paths[-1].write_bytes(text.encode("utf-8"))
    return paths


def main(arguments: Sequence[str] | None = None) -> None:
    """Write the year into a folder and say what was written."""
    parser = argparse.ArgumentParser(
        prog="python -m sample_logs.simulate", description="Make the invented shop's year again."
    )
    parser.add_argument("--folder", type=Path, default=FOLDER, help="where the sheets go")
    parser.add_argument("--seed", type=int, default=SEED, help=f"another year ({SEED} is shipped)")
    options = parser.parse_args(arguments)
    for path in write_year(options.folder, options.seed):
        sys.stdout.write(f"{path.name}  {path.stat().st_size:,} bytes\n")


if __name__ == "__main__":
    main()
