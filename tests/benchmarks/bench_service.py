"""Many clients logging at once, with an import going on, beside the bare engine's group commit.

    python tests/benchmarks/bench_service.py --clients 50 --seconds 20 --import-rows 1000000

Prints throughput and waiting times of four things on this machine, in this run: the engine alone
(one writer that appends what waits to the same table, acknowledged after the commit), the store in
one process, the same with an import going on, and the whole service over HTTP with that import.
Nothing may be lost or doubled; that is counted at the end.
"""

from __future__ import annotations

import argparse
import http.client
import json
import queue
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from urllib.parse import urlsplit

import duckdb
import polars as pl

from logbook.remote import reach_book
from logbook.store import new_book, open_book
from logbook.store.schema import MIGRATIONS

sys.path[:0] = [
    str(Path(__file__).parents[1] / name) for name in ("program", "unit/store")
]  # before the two below

from run_frames import many  # noqa: E402
from served import serving  # noqa: E402

MOST_RUNS = 192_000
"""Runs that are made ready for 64 clients at most, 3,000 each."""

Log = Callable[[int, int], None]
"""Log one run as client so-and-so, number so-and-so; returns once it is kept."""


def main() -> None:
    """Run the three and print a line each."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--clients", type=int, default=50)
    asked.add_argument("--seconds", type=float, default=10.0)
    asked.add_argument("--import-rows", type=int, default=100_000)
    options = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        base = _engine(Path(folder), options.clients, options.seconds)
        for rows in (0, options.import_rows):
            _store(Path(folder), options.clients, options.seconds, base, rows)
        _service(Path(folder), options, base)


def _engine(folder: Path, clients: int, seconds: float) -> float:
    connection = duckdb.connect(str(folder / "bare.duckdb"))
    connection.execute(MIGRATIONS[0].statements[0])
    one = (*many(1).row(0)[1:], "0" * 32, 1, "logged", None, "bench", datetime(2026, 11, 2))
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
            with connection.appender("runs") as appender:
                appender.append_rows([(ref, *one) for ref, _ in group])
            connection.execute("COMMIT")
            for _, kept in group:
                kept.set()

    writer = threading.Thread(target=write)
    writer.start()

    def log(client: int, number: int) -> None:
        kept = threading.Event()
        waiting.put((f"{client}-{number}", kept))
        kept.wait()

    waits, took = _drive(log, clients, seconds)
    over.set()
    writer.join()
    connection.close()
    return _told("engine alone", waits, took, None)


def _store(folder: Path, clients: int, seconds: float, base: float, import_rows: int) -> None:
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
    _told(f"store in one process, {import_rows:,} rows coming in", waits, took, base)


def _service(folder: Path, options: argparse.Namespace, base: float) -> None:
    place = folder / "service"
    new_book(str(place)).close()
    with serving(place) as served:
        where = urlsplit(served.address)
        lines = [
            http.client.HTTPConnection(where.hostname or "", where.port, timeout=60)
            for _ in range(options.clients)
        ]

        def log(client: int, number: int) -> None:
            run = {
                "run_ref": f"C{client}-{number}",
                "finished_at": "2026-11-02T10:00:00",
                "pieces_inspected": 50,
                "puckering": 1,
            }
            head = {"Content-Type": "application/json"}
            lines[client].request("POST", "/api/runs", json.dumps(run), head)
            answer = lines[client].getresponse()
            assert answer.status == 201, answer.read()
            answer.read()

        took: list[float] = []

        def bring_in() -> None:
            started = time.perf_counter()
            reach_book(str(place)).put(many(options.import_rows, prefix="I"), source="bench")
            took.append(time.perf_counter() - started)

        importing = threading.Thread(target=bring_in)
        importing.start()
        waits, lasted = _drive(log, options.clients, options.seconds, while_alive=importing)
        importing.join()
    with open_book(str(place)) as store:
        assert store.count() == len(waits) + options.import_rows, "lost or doubled"
    _told(f"service, {options.import_rows:,} rows coming in", waits, lasted, base)
    sys.stdout.write(f"  the import took {took[0]:.1f} s\n")


def _frames() -> Callable[[int, int], pl.DataFrame]:
    # Made before the clock runs: what is timed is the keeping of a run.
    made = many(MOST_RUNS, prefix="C")

    def frame(client: int, number: int) -> pl.DataFrame:
        return made[client * (MOST_RUNS // 64) + number :][:1]

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


def _told(what: str, waits: list[float], seconds: float, base: float | None) -> float:
    rate = len(waits) / seconds
    cuts = statistics.quantiles(waits, n=100)
    beside = "" if base is None else f", {base / rate:.1f} times slower than the engine alone"
    sys.stdout.write(
        f"{what}: {rate:,.0f} runs/s, half within {cuts[49] * 1000:.0f} ms, "
        f"99 in 100 within {cuts[98] * 1000:.0f} ms, longest {max(waits):.2f} s{beside}\n"
    )
    sys.stdout.flush()
    return rate


if __name__ == "__main__":
    main()
