"""The whole service killed under load: what it acknowledged is there, once and whole."""

from __future__ import annotations

import http.client
import json
import os
import random
import signal
import threading
import time
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from run_frames import many
from served import Served, serving

from logbook.errors import LogbookError
from logbook.store import Stored, new_book, open_book
from logbook.store.served import reach_book

ROUNDS = int(os.environ.get("LOGBOOK_KILL_ROUNDS", "2"))
"""Rounds of the everyday suite; ``LOGBOOK_KILL_ROUNDS=50`` is run by hand."""
CLIENTS = 6
SHEET_ROWS = 3_000


class Client(threading.Thread):
    """Logs runs one after another, and repeats one whose answer never came."""

    def __init__(self, served: Served, name: str) -> None:
        super().__init__(daemon=True)
        self.where = urlsplit(served.address)
        self.named = name
        self.acknowledged: dict[str, int] = {}
        self.asked: set[str] = set()

    def run(self) -> None:
        """Go on until the service is gone."""
        number = 0
        while True:
            number += 1
            ref = f"{self.named}-{number}"
            run = {
                "run_ref": ref,
                "finished_at": "2026-11-02T10:00:00",
                "pieces_inspected": 50,
                "puckering": number % 50,
                "machine": self.named,
            }
            self.asked.add(ref)
            line = http.client.HTTPConnection(
                self.where.hostname or "", self.where.port, timeout=10
            )
            try:
                line.request(
                    "POST", "/api/runs", json.dumps(run), {"Content-Type": "application/json"}
                )
                answer = line.getresponse()
                content = answer.read()
            except (OSError, http.client.HTTPException):
                return
            finally:
                line.close()
            assert answer.status == 201, content
            self.acknowledged[ref] = run["puckering"]


class Importer(threading.Thread):
    """Brings in one sheet after another, as ``logbook import`` does while the pages are served."""

    def __init__(self, place: Path, name: str) -> None:
        super().__init__(daemon=True)
        self.named = name
        self.store = reach_book(str(place))
        self.kept: set[str] = set()
        self.asked: set[str] = set()

    def run(self) -> None:
        """Go on until the service is gone."""
        for number in range(1_000):
            sheet = f"{self.named}S{number}"
            runs = many(SHEET_ROWS, prefix=f"{sheet}-", machine=sheet)
            self.asked.add(sheet)
            try:
                stored = self.store.put(runs, source="sheet", settle=[].append)
            except LogbookError:
                return
            assert stored == Stored(SHEET_ROWS, 0, 0)
            self.kept.add(sheet)


def _whole_sheets(place: Path, importers: list[Importer]) -> None:
    """Every sheet is there whole or not at all, and those acknowledged are there."""
    with open_book(str(place)) as store:
        runs = dict(store.totals(by=["machine"]).select("machine", "runs").rows())
    for importer in importers:
        found = {sheet for sheet in importer.asked if sheet in runs}
        assert importer.kept <= found
        assert {runs[sheet] for sheet in found} <= {SHEET_ROWS}


@pytest.mark.slow
def test_nothing_acknowledged_is_lost_doubled_or_torn(tmp_path: Path) -> None:
    place = tmp_path / "book"
    new_book(str(place)).close()
    chance = random.Random(20261125)
    acknowledged: dict[str, int] = {}
    asked: set[str] = set()
    importers: list[Importer] = []
    for life in range(ROUNDS):
        with serving(place) as served:
            clients = [Client(served, f"L{life}M{number}") for number in range(CLIENTS)]
            importers.append(Importer(place, f"L{life}"))
            for client in (*clients, importers[-1]):
                client.start()
            time.sleep(chance.uniform(1.0, 3.0))
            served.stop(signal.SIGKILL)
            for client in clients:
                client.join(20)
                assert not client.is_alive()
                acknowledged |= client.acknowledged
                asked |= client.asked
            importers[-1].join(60)
            assert not importers[-1].is_alive()
        _whole_sheets(place, importers)
        with open_book(str(place)) as store:
            found = store.runs()
            found = found.filter(found["machine"].str.contains("M"))  # the clients' own
            refs = found["run_ref"].to_list()
            assert len(refs) == len(set(refs))
            assert set(acknowledged) <= set(refs) <= asked
            kept = dict(found.select("run_ref", "puckering").iter_rows())
            assert {ref: kept[ref] for ref in acknowledged} == acknowledged
            assert all(len(store.history(ref)) == 1 for ref in refs[:20])
    assert len(acknowledged) >= ROUNDS
    assert any(importer.kept for importer in importers)
