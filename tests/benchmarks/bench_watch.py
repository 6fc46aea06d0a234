"""The full-size check of the watch: what it finds in shops whose changes are known.

    python tests/benchmarks/bench_watch.py --first 30001 --null 20 --planted 30

Worlds of the printed table were not looked at while the watch was built.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TypeVar

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "calibration"))

from watch_measures import Outcome, bad_lot, drift, helped, quiet_year, two_causes

T = TypeVar("T")


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--first", type=int, default=30_001)
    asked.add_argument("--null", type=int, default=20)
    asked.add_argument("--planted", type=int, default=30)
    options = asked.parse_args()
    worlds = range(options.first, options.first + options.planted)
    _say("| world | planted | told |\n|-|-|-|")
    _lots([_timed(bad_lot, world) for world in worlds])
    _drifts([_timed(drift, world) for world in worlds])
    changes = [_timed(helped, world) for world in worlds]
    within = _share(0 < each.suspected <= 3 for each in changes)
    _say(f"| change | said within 3 weeks | {within} |")
    pairs = [two_causes(world) for world in worlds]
    both = _share(all(each.suspected for each in pair) for pair in pairs)
    _say(f"| two causes | both named within 3 weeks | {both} |")
    _quiet(range(options.first, options.first + options.null))


def _lots(told: Sequence[Outcome]) -> None:
    _say(f"| bad lot | named by its third week | {_share(0 < e.suspected <= 3 for e in told)} |")
    _say(f"| | named first of all by its third week | {_share(0 < e.first <= 3 for e in told)} |")
    _say(f"| | found while in use | {_share(e.found > 0 for e in told)} |")
    _say(f"| | other findings a world | {np.mean([e.wrong for e in told]):.2f} |")


def _drifts(told: Sequence[Outcome]) -> None:
    for name in ("suspected", "found"):
        weeks = [getattr(each, name) or np.inf for each in told]
        _say(f"| drift | {name}, median week | {np.median(weeks):.0f} |")
    _say(f"| | other findings a world | {np.mean([e.wrong for e in told]):.2f} |")


def _quiet(worlds: range) -> None:
    quiet = [_timed(quiet_year, world) for world in worlds]
    years = sum(each.weeks for each in quiet) / 52
    for name in ("found", "suspected"):
        count = sum(getattr(each, name) for each in quiet)
        _say(f"| null | false {name} a year | {count / years:.2f} ({count} in {years:.1f} years) |")


def _timed(measure: Callable[[int], T], world: int) -> T:
    started = time.perf_counter()
    found = measure(world)
    sys.stderr.write(f"{found} {time.perf_counter() - started:.0f} s\n")
    return found


def _share(told: Iterable[bool]) -> str:
    values = list(told)
    return f"{100 * np.mean(values):.0f} % ({sum(values)} of {len(values)})"


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
