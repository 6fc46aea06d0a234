"""Many clients logging at once, with an import going on, beside the bare engine's group commit.

    python tests/benchmarks/bench_service.py --clients 50 --seconds 20 --import-rows 1000000

Prints throughput and waiting times of four things on this machine, in this run: the engine alone
(one writer that appends what waits to the same table, acknowledged after the commit), HTTP alone
(the same server and a route that does nothing), the store in one process, and the whole service;
all but HTTP by themselves and with an import going on. Clients over HTTP are a process of their
own and take their share of the processors, which is told.
Nothing may be lost or doubled; that is counted at the end.
"""

from __future__ import annotations

import argparse
import queue
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from logbook.store import new_book, open_book
from logbook.store.served import reach_book

sys.path[:0] = [
    str(Path(__file__).parents[1] / name) for name in ("program", "unit/store")
]  # before those below

from empty_route import serving_nothing  # noqa: E402
from light_client import clients_of  # noqa: E402
from run_frames import many  # noqa: E402
from served import serving  # noqa: E402

LOGGED = ("content_mark", "version", "change_what", "change_why", "source", "recorded_at")
AS_LOGGED = ("0" * 32, 1, "logged", None, "bench", datetime(2026, 11, 2))
"""What the book keeps of a run beside its sheet."""
PIECE_ROWS = 100_000
"""Of so many rows the plain engine inserts a sheet: more at a time hold up all others longer."""
MOST_CLIENTS, MOST_EACH = 64, 12_000
"""For so many are runs made ready, and so many for each: minutes of logging without a pause."""


@dataclass(frozen=True, slots=True)
class Bases:
    """What the rest is held against, in runs a second; the engine by rows coming in."""

    engine: dict[int, float]
    empty_route: float


Log = Callable[[int, int], None]
"""Log one run as client so-and-so, number so-and-so; returns once it is kept."""


def main() -> None:
    """Run the four and print a line each."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--clients", type=int, default=50)
    asked.add_argument("--seconds", type=float, default=10.0)
    asked.add_argument("--import-rows", type=int, default=100_000)
    asked.add_argument("--folder", help="on the disk to be measured; else the temporary one")
    options = asked.parse_args()
    with tempfile.TemporaryDirectory(dir=options.folder) as folder:
        coming_in = (0, options.import_rows)
        clients, seconds = options.clients, options.seconds
        bases = Bases(
            engine={rows: _engine(Path(folder), clients, seconds, rows) for rows in coming_in},
            empty_route=_empty_route(clients, seconds),
        )
        for rows in coming_in:
            _store(Path(folder), clients, seconds, bases, rows)
        for rows in coming_in:
            _service(Path(folder), options, bases, rows)


def _engine(folder: Path, clients: int, seconds: float, import_rows: int) -> float:
    """The plain engine: one writer appends groups, and a sheet is inserted in pieces beside it."""
    place = folder / f"bare-{import_rows}"
    new_book(str(place)).close()
    connection = duckdb.connect(str(place / "logbook.duckdb"))
    one = (*many(1).row(0)[1:], *AS_LOGGED)
    columns = [*many(1).columns, *LOGGED]
    sheet = many(import_rows, prefix="I")
    waiting: queue.Queue[tuple[str, threading.Event]] = queue.Queue()
    over = threading.Event()

    def write() -> None:
        while not over.is_set():
            try:
                group = [waiting.get(timeout=0.05)]
            except queue.Empty:
                continue
            while not waiting.empty():
                group.append(waiting.get())
            connection.execute("BEGIN")
            with connection.appender("runs", columns=columns) as appender:
                appender.append_rows([(ref, *one) for ref, _ in group])
            connection.execute("COMMIT")
            for _, kept in group:
                kept.set()

    def bring_in() -> None:
        names = ", ".join(f'"{name}"' for name in (*sheet.columns, *LOGGED))
        values = ", ".join(f'"{name}"' for name in sheet.columns) + ", ?" * len(LOGGED)
        with connection.cursor() as cursor:
            cursor.execute("BEGIN")
            for start in range(0, import_rows, PIECE_ROWS):
                cursor.register("piece", sheet[start : start + PIECE_ROWS].to_arrow())
                cursor.execute(
                    f"INSERT INTO runs ({names}) SELECT {values} FROM piece", list(AS_LOGGED)
                )
                cursor.unregister("piece")
            cursor.execute("COMMIT")

    threads = [threading.Thread(target=each) for each in (write, bring_in)]
    for thread in threads:
        thread.start()

    def log(client: int, number: int) -> None:
        kept = threading.Event()
        waiting.put((f"{client}-{number}", kept))
        kept.wait()

    waits, took = _drive(log, clients, seconds, while_alive=threads[1])
    over.set()
    for thread in threads:
        thread.join()
    found = connection.execute("SELECT count(*) FROM runs").fetchone()
    assert found == (len(waits) + import_rows,), "lost or doubled"
    connection.close()
    return _told(f"engine alone, {import_rows:,} rows coming in", waits, took, None)


def _store(folder: Path, clients: int, seconds: float, bases: Bases, import_rows: int) -> None:
    with new_book(str(folder / f"store-{import_rows}")) as store:
        frames = _frames()
        sheet = many(import_rows, prefix="I")

        def log(client: int, number: int) -> None:
            store.put(frames(client, number), source="bench")

        importing = threading.Thread(target=lambda: store.put(sheet, source="bench"))
        importing.start()
        waits, took = _drive(log, clients, seconds, while_alive=importing)
        importing.join()
        assert store.count() == len(waits) + import_rows, "lost or doubled"
    _told(f"store in one process, {import_rows:,} rows coming in", waits, took, bases, import_rows)


def _service(folder: Path, options: argparse.Namespace, bases: Bases, import_rows: int) -> None:
    place = folder / f"service-{import_rows}"
    new_book(str(place)).close()
    took: list[float] = []

    def bring_in() -> None:
        started = time.perf_counter()
        reach_book(str(place)).put(many(import_rows, prefix="I"), source="bench")
        took.append(time.perf_counter() - started)

    with serving(place) as served:
        # Some runs first: a service is slow at the first question after it was started.
        with clients_of(served.address, **_asking(options.clients, 2.0, prefix="W")) as warm:
            pass
        seconds = options.seconds
        with clients_of(served.address, **_asking(options.clients, seconds, prefix="C")) as asked:
            if import_rows:
                bring_in()
    with open_book(str(place)) as store:
        logged = len(warm.waits) + len(asked.waits)
        assert store.count() == logged + import_rows, "lost or doubled"
    _told(f"service, {import_rows:,} rows coming in", asked.waits, asked.lasted, bases, import_rows)
    own = asked.own_seconds / asked.lasted
    sys.stdout.write(f"  the clients themselves kept {own:.2f} of a processor busy\n")
    if took:
        sys.stdout.write(f"  the import took {took[0]:.1f} s\n")


def _empty_route(clients: int, seconds: float) -> float:
    with (
        serving_nothing() as address,
        clients_of(address, **_asking(clients, seconds, prefix="E")) as asked,
    ):
        pass
    return _told("HTTP alone, a route that does nothing", asked.waits, asked.lasted, None)


def _asking(clients: int, seconds: float, *, prefix: str) -> dict[str, Any]:
    return {"path": "/api/runs", "clients": clients, "seconds": seconds, "prefix": prefix}


def _frames() -> Callable[[int, int], pl.DataFrame]:
    # Made before the clock runs: what is timed is the keeping of a run.
    made = many(MOST_CLIENTS * MOST_EACH, prefix="C")

    def frame(client: int, number: int) -> pl.DataFrame:
        assert number < MOST_EACH, "more was logged than was made ready: raise MOST_EACH"
        return made[client * MOST_EACH + number :][:1]

    return frame


def _drive(
    log: Log, clients: int, seconds: float, *, while_alive: threading.Thread | None = None
) -> tuple[list[float], float]:
    """Let clients log for so long, or until an import has ended.

    Returns how long each run waited, and how long it all lasted.
    """
    waits: list[list[float]] = [[] for _ in range(clients)]
    begun = time.perf_counter()
    end = begun + seconds

    def go(client: int) -> None:
        number = 0
        while time.perf_counter() < end or (while_alive is not None and while_alive.is_alive()):
            started = time.perf_counter()
            log(client, number)
            waits[client].append(time.perf_counter() - started)
            number += 1

    threads = [threading.Thread(target=go, args=(client,)) for client in range(clients)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return [wait for own in waits for wait in own], time.perf_counter() - begun


def _told(
    what: str, waits: list[float], seconds: float, bases: Bases | None, import_rows: int = 0
) -> float:
    rate = len(waits) / seconds
    cuts = statistics.quantiles(waits, n=100)
    beside = ""
    if bases is not None:
        beside = (
            f", {bases.engine[import_rows] / rate:.1f} times slower than the engine alone with as "
            f"many rows coming in ({bases.engine[0] / rate:.1f} without) and "
            f"{bases.empty_route / rate:.1f} times slower than HTTP alone"
        )
    sys.stdout.write(
        f"{what}: {rate:,.0f} runs/s, half within {cuts[49] * 1000:.0f} ms, "
        f"99 in 100 within {cuts[98] * 1000:.0f} ms, longest {max(waits):.2f} s{beside}\n"
    )
    sys.stdout.flush()
    return rate


if __name__ == "__main__":
    main()
