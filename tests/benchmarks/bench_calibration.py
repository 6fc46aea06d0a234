"""The full-size check of the fair comparison: prints a table of what is said against what is true.

    python tests/benchmarks/bench_calibration.py --worlds 60 --runs 2000 --first 20001
    python tests/benchmarks/bench_calibration.py --questions suppliers --scenarios base heavy

Worlds are numbered; those of the printed table were not looked at while the model was built.
One thread of linear algebra (``OPENBLAS_NUM_THREADS=1``) is fastest.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "calibration"))

from advice_measures import advice_summary, advise_in_worlds
from advice_worlds import NULL, TRAPS
from factor_measures import effects_in_worlds, factor_summary
from invented_shops import SCENARIOS
from needed_measures import needed_in_worlds, needed_summary
from supplier_measures import compare_in_worlds, summary
from week_measures import week_summary, weeks_in_shops

KINDS = ("puckering", "gaps", "looping", "shadowing", "any")
FACTOR_KINDS = ("puckering", "gaps", "sinking", "looping", "hoop_marks", "shadowing")

Question = Callable[[str, range, int], Any]
QUESTIONS: dict[str, Question] = {
    "suppliers": lambda scenario, worlds, runs: summary(
        compare_in_worlds(scenario, worlds=worlds, runs=runs, kinds=KINDS)
    ),
    "factors": lambda scenario, worlds, runs: factor_summary(
        effects_in_worlds(scenario, worlds=worlds, runs=runs, kinds=FACTOR_KINDS)
    ),
    "advice": lambda scenario, worlds, runs: advice_summary(
        advise_in_worlds(scenario, worlds=worlds, runs=runs, jobs=20)
    ),
    "needed": lambda scenario, worlds, runs: needed_summary(
        [
            times
            for kind in ("puckering", "any")
            for times in needed_in_worlds(scenario, worlds=worlds, runs=runs, kind=kind)
        ]
    ),
    "weeks": lambda scenario, worlds, runs: week_summary(
        weeks_in_shops(
            shops=worlds,
            long_tails=scenario == "heavy",
            runs_a_week=runs // 50,
            weeks=52,
            every=2,
        )
    ),
}


def main() -> None:
    """Print one table for each question."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--worlds", type=int, default=60)
    asked.add_argument("--first", type=int, default=20_001)
    asked.add_argument("--runs", type=int, default=2_000)
    asked.add_argument(
        "--scenarios", nargs="+", choices=(*SCENARIOS, *TRAPS, *NULL), default=SCENARIOS
    )
    asked.add_argument("--questions", nargs="+", choices=QUESTIONS, default=tuple(QUESTIONS))
    options = asked.parse_args()
    worlds = range(options.first, options.first + options.worlds)
    for question in options.questions:
        _say(f"\n{question}: {options.worlds} worlds of {options.runs:,} runs\n")
        for position, scenario in enumerate(options.scenarios):
            started = time.perf_counter()
            found = QUESTIONS[question](scenario, worlds, options.runs)
            names = [each.name for each in fields(found)]
            if position == 0:
                _row("scenario", *(name.replace("_", " ") for name in names))
                _row(*("-" for _ in ("scenario", *names)))
            _row(scenario, *(_shown(getattr(found, name)) for name in names))
            sys.stderr.write(f"  ({time.perf_counter() - started:.0f} s)\n")


def _row(*parts: str) -> None:
    _say(f"| {' | '.join(parts)} |")


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def _shown(value: float | int | tuple[str, float]) -> str:
    if isinstance(value, tuple):
        return f"{value[0]} {value[1]:.1f}"
    return f"{value:,}" if isinstance(value, int) else f"{value:.2f}"


if __name__ == "__main__":
    main()
