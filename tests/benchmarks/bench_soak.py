"""The service asked by many for minutes: does it keep to its memory, files and threads?

    python tests/benchmarks/bench_soak.py --minutes 5
    python tests/benchmarks/bench_soak.py --minutes 20 --runs-each 2000

Eight clients log without a pause, one asks for the review, suppliers and runs five times a second,
and a sheet of 3,000 runs comes in now and then. Told at the end: a line fitted to resident memory
after the warm-up, once through all looks and once through the least of each window, since a
question being answered takes memory that it gives back; and files and threads.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

import numpy as np

from logbook.store import new_book

sys.path[:0] = [
    str(Path(__file__).parents[1] / name) for name in ("program", "unit/store")
]  # before those below

from served import serving  # noqa: E402
from soaking import Look, soak  # noqa: E402

MEGABYTE = 1e6
WINDOWS = 12
TOLD_SECONDS = 10


def main() -> None:
    """Soak, and print what was seen."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--minutes", type=float, default=5.0)
    asked.add_argument("--loggers", type=int, default=8)
    asked.add_argument(
        "--runs-each",
        type=int,
        help="a client that has logged so many sends the same again: the book grows no more",
    )
    options = asked.parse_args()
    seconds = 60 * options.minutes
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "book"
        new_book(str(place)).close()
        with serving(place) as served:
            soaked = soak(
                served,
                seconds=seconds,
                loggers=options.loggers,
                look_every=1.0,
                runs_each=options.runs_each,
                say=lambda look: _say(look) if round(look.seconds) % TOLD_SECONDS == 0 else None,
            )
    settled = [look for look in soaked.looks if look.seconds > seconds / 3]
    minutes = np.array([look.seconds / 60 for look in settled])
    memory = np.array([look.memory_bytes / MEGABYTE for look in settled])
    windows = np.array_split(np.arange(len(settled)), WINDOWS)
    lowest = [window[np.argmin(memory[window])] for window in windows]
    slope, _ = np.polyfit(minutes, memory, 1)
    at_rest, _ = np.polyfit(minutes[lowest], memory[lowest], 1)
    sys.stdout.write(
        f"{soaked.logged:,} requests logged, {soaked.questions:,} questions, "
        f"{soaked.sheets:,} sheets\n"
        f"memory after the warm-up: {memory.min():.0f} to {memory.max():.0f} MB, "
        f"{slope:+.2f} MB a minute; between questions {memory[lowest].min():.0f} to "
        f"{memory[lowest].max():.0f} MB, {at_rest:+.2f} MB a minute\n"
        f"files: {min(look.files for look in settled)} to {max(look.files for look in settled)}, "
        f"threads: {min(look.threads for look in settled)} to "
        f"{max(look.threads for look in settled)}\n"
    )


def _say(look: Look) -> None:
    sys.stdout.write(
        f"{look.seconds:6.0f} s  {look.memory_bytes / MEGABYTE:6.0f} MB  "
        f"{look.files} files  {look.threads} threads\n"
    )
    sys.stdout.flush()


if __name__ == "__main__":
    main()
