"""The whole service killed under load: what it acknowledged is there, once and whole."""

from __future__ import annotations

import http.client
import json
import os
import random
import signal
import sys
import threading
import time
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from logbook.store import new_book, open_book

sys.path.insert(0, str(Path(__file__).parents[1] / "program"))
from served import Served, serving

ROUNDS = int(os.environ.get("LOGBOOK_KILL_ROUNDS", "2"))
"""Rounds of the everyday suite; ``LOGBOOK_KILL_ROUNDS=50`` is run by hand."""
CLIENTS = 6


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


@pytest.mark.slow
def test_nothing_acknowledged_is_lost_doubled_or_torn(tmp_path: Path) -> None:
    place = tmp_path / "book"
    new_book(str(place)).close()
    chance = random.Random(20261125)
    acknowledged: dict[str, int] = {}
    asked: set[str] = set()
    for life in range(ROUNDS):
        with serving(place) as served:
            clients = [Client(served, f"L{life}M{number}") for number in range(CLIENTS)]
            for client in clients:
                client.start()
            time.sleep(chance.uniform(0.2, 1.5))
            served.stop(signal.SIGKILL)
            for client in clients:
                client.join(20)
                assert not client.is_alive()
                acknowledged |= client.acknowledged
                asked |= client.asked
        with open_book(str(place)) as store:
            found = store.runs()
            refs = found["run_ref"].to_list()
            assert len(refs) == len(set(refs))
            assert set(acknowledged) <= set(refs) <= asked
            kept = dict(found.select("run_ref", "puckering").iter_rows())
            assert {ref: kept[ref] for ref in acknowledged} == acknowledged
            assert all(len(store.history(ref)) == 1 for ref in refs[:20])
    assert len(acknowledged) > ROUNDS * CLIENTS
