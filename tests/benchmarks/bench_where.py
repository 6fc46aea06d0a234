"""How far what is said of levels can be trusted: ``where`` in invented shops whose truth is known.

``uv run python tests/benchmarks/bench_where.py --worlds 10`` prints, by scenario and by
column, how often intervals hold the true ratio, how far ratios are off as counted and shrunken,
and how often the truly dearest level is among the first three by money.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "calibration"))

from where_measures import COLUMNS, Judged, coverage, dearest_found, judged_in_worlds

FIRST_WORLD = 30001
SCENARIOS = ("base", "heavy", "nullsup")
KINDS = ("puckering", "gaps", "looping", "hoop_marks")


def line(name: str, judged: Sequence[Judged]) -> str:
    """One row of the table."""
    crude, shrunk = (
        float(np.sqrt(np.mean([(getattr(each, what) - each.truth) ** 2 for each in judged])))
        for what in ("ratio", "shrunk")
    )
    right, questions = dearest_found(judged)
    sure = [each for each in judged if each.chance_above >= 0.9]
    false = sum(each.truth < 1 for each in sure) / max(len(sure), 1)
    return (
        f"| {name} | {len(judged)} | {100 * coverage(judged):.1f} | {crude:.3f} | {shrunk:.3f} | "
        f"{100 * false:.1f} of {len(sure)} | {100 * right:.0f} of {questions} |"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--worlds", type=int, default=10)
    parser.add_argument("--first", type=int, default=FIRST_WORLD)
    parser.add_argument("--runs", type=int, default=3000)
    asked = parser.parse_args()
    worlds = range(asked.first, asked.first + asked.worlds)
    sys.stdout.write(
        "| | levels | coverage % | RMSE counted | shrunken | sure, yet below % | dearest in 3 % |\n"
        "|-|-|-|-|-|-|-|\n"
    )
    every: list[Judged] = []
    for scenario in SCENARIOS:
        judged = judged_in_worlds(scenario, worlds=worlds, runs=asked.runs, kinds=KINDS)
        every += judged
        sys.stdout.write(line(scenario, judged) + "\n")
        for column in COLUMNS:
            own = [each for each in judged if each.column == column]
            sys.stdout.write(line(f"{scenario}, {column}", own) + "\n")
    sys.stdout.write(line("all", every) + "\n")


if __name__ == "__main__":
    main()
