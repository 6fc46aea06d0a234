"""A served book asked by many for long: what it takes of memory, files and threads over time."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from run_frames import many
from served import Served

from logbook.store.served import reach_book

SUPPLIERS = ("Alder", "Birch", "Cedar")
QUESTIONS = ("/api/review", "/api/suppliers?defect=puckering", "/api/runs?limit=50", "/health")
SHEET_ROWS = 3_000


@dataclass(frozen=True, slots=True)
class Look:
    """What the process of the service held at one moment."""

    seconds: float
    memory_bytes: int
    files: int
    threads: int


@dataclass(frozen=True, slots=True)
class Soaked:
    """Everything seen, and how much was asked."""

    looks: tuple[Look, ...]
    logged: int
    questions: int
    sheets: int


def soak(
    served: Served,
    *,
    seconds: float,
    loggers: int = 8,
    look_every: float = 1.0,
    sheet_every: float = 20.0,
    runs_each: int | None = None,
    at_least: int = 0,
    say: Callable[[Look], object] = lambda _: None,
) -> Soaked:
    """Log, ask and bring in sheets for so long, and look at the service meanwhile.

    On a busy machine it goes on until ``at_least`` so many runs are logged.

    With ``runs_each``, a client that has logged so many runs sends the same again, and the sheet
    is always the same: the book grows no more, and memory that does is lost.
    """
    over = threading.Event()
    counts = {"logged": 0, "questions": 0, "sheets": 0}
    faults: list[BaseException] = []

    def going_on(step: Callable[[int], None], counted: str, pause: float) -> Callable[[], None]:
        def go() -> None:
            number = 0
            try:
                while not over.is_set():
                    step(number)
                    number += 1
                    with lock:
                        counts[counted] += 1
                    over.wait(pause)
            except BaseException as fault:
                faults.append(fault)
                over.set()

        return go

    lock = threading.Lock()
    lines = [_line(served) for _ in range(loggers + 1)]
    work = [
        going_on(_logger(line, name, runs_each), "logged", 0.0)
        for name, line in enumerate(lines[:loggers])
    ]
    work += [going_on(_asker(lines[-1]), "questions", 0.2)]
    work += [going_on(_importer(served.place, runs_each), "sheets", sheet_every)]
    threads = [threading.Thread(target=each) for each in work]
    for thread in threads:
        thread.start()
    looks, begun = [], time.monotonic()
    while (time.monotonic() - begun < seconds or counts["logged"] < at_least) and not over.wait(
        look_every
    ):
        looks.append(_look(served, time.monotonic() - begun))
        say(looks[-1])
    over.set()
    for thread in threads:
        thread.join(60)
    for line in lines:
        line.close()
    if faults:
        raise faults[0]
    return Soaked(tuple(looks), counts["logged"], counts["questions"], counts["sheets"])


def _look(served: Served, seconds: float) -> Look:
    own = Path(f"/proc/{served.process.pid}")
    told = dict(
        line.split(":", 1) for line in (own / "status").read_text().splitlines() if ":" in line
    )
    return Look(
        seconds=seconds,
        memory_bytes=int(told["VmRSS"].split()[0]) * 1024,
        files=len(list((own / "fd").iterdir())),
        threads=int(told["Threads"]),
    )


def _line(served: Served) -> http.client.HTTPConnection:
    where = urlsplit(served.address)
    return http.client.HTTPConnection(where.hostname or "", where.port, timeout=60)


def _logger(
    line: http.client.HTTPConnection, name: int, runs_each: int | None
) -> Callable[[int], None]:
    def log(number: int) -> None:
        number = number if runs_each is None else number % runs_each
        # Now and then a new name, a refused run and a repeated one, as in life.
        run = {
            "run_ref": f"S{name}-{number - (number % 50 == 49)}",
            "finished_at": f"2026-{1 + number % 10:02}-{1 + number % 28:02}T10:00:00",
            "machine": f"M{name}",
            "backing": "cut_away",
            "backing_supplier": SUPPLIERS[number % 3],
            "backing_lot": f"L{number // 200}",
            "pieces_inspected": 50,
            "puckering": 60 if number % 40 == 39 else number % 4,
        }
        head = {"Content-Type": "application/json"}
        if number % 5 == 0:
            head["Idempotency-Key"] = f'"{name}-{number}"'
        line.request("POST", "/api/runs", json.dumps(run), head)
        answer = line.getresponse()
        content = answer.read()
        assert answer.status in (201, 200, 409, 422), content

    return log


def _asker(line: http.client.HTTPConnection) -> Callable[[int], None]:
    def ask(number: int) -> None:
        line.request("GET", QUESTIONS[number % len(QUESTIONS)])
        answer = line.getresponse()
        content = answer.read()
        assert answer.status in (200, 422), content

    return ask


def _importer(place: Path, runs_each: int | None) -> Callable[[int], None]:
    store = reach_book(str(place))

    def bring_in(number: int) -> None:
        prefix = f"I{number}-" if runs_each is None else "I-"
        store.put(many(SHEET_ROWS, prefix=prefix), source="sheet", settle=[].append)

    return bring_in
