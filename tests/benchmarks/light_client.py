"""Many clients on kept-open lines, in a process of their own, that cost as little as can be.

    python tests/benchmarks/light_client.py ADDRESS PATH CLIENTS SECONDS PREFIX

Each client posts a run, waits for the answer, and posts the next. After the seconds it goes on
until its standard input ends. What it prints is one JSON object: how long each run waited, how
long it all lasted, and how much processor time the clients themselves took.
"""

from __future__ import annotations

import asyncio
import json
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

try:
    from uvloop import run as run_loop
except ImportError:
    from asyncio import run as run_loop

END_OF_HEAD = b"\r\n\r\n"
LENGTH = b"content-length: "


@dataclass
class Asked:
    """What clients in another process found; filled in at the end."""

    process: subprocess.Popen[str]
    waits: list[float] = field(default_factory=list)
    lasted: float = 0.0
    own_seconds: float = 0.0
    """Processor time of the clients themselves."""


@contextmanager
def clients_of(
    address: str, *, path: str, clients: int, seconds: float, prefix: str
) -> Iterator[Asked]:
    """Let clients ask for so long, and at least until the block ends."""
    told = [address, path, str(clients), str(seconds), prefix]
    process = subprocess.Popen(
        [sys.executable, __file__, *told],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    asked = Asked(process)
    yield asked
    found, _ = process.communicate("")
    assert process.returncode == 0, "a client was answered other than 201"
    for name, value in json.loads(found).items():
        setattr(asked, name, value)


class Line(asyncio.Protocol):
    """One client on one kept-open line."""

    def __init__(self, name: str, head: bytes, waits: list[float], going_on: Any) -> None:
        self.name, self.head, self.waits, self.going_on = name, head, waits, going_on
        self.number, self.sent_at, self.got = 0, 0.0, b""
        self.over = asyncio.get_running_loop().create_future()

    def connection_made(self, transport: Any) -> None:
        """Ask for the first time."""
        self.transport = transport
        self._ask()

    def connection_lost(self, cause: Exception | None) -> None:
        """Fail where the service hung up before the end."""
        if not self.over.done():
            self.over.set_exception(cause or ConnectionError("the service hung up"))

    def data_received(self, data: bytes) -> None:
        """Note how long it took once the answer is whole, and ask again."""
        self.got += data
        end = self.got.find(END_OF_HEAD)
        if end < 0:
            return
        head = self.got[:end].lower()
        length = int(head.split(LENGTH, 1)[1].split(b"\r\n", 1)[0])
        if len(self.got) < end + len(END_OF_HEAD) + length:
            return
        now = time.perf_counter()
        self.waits.append(now - self.sent_at)
        if not head.startswith(b"http/1.1 201"):
            self.over.set_exception(AssertionError(self.got.decode()))
        elif self.going_on(now):
            self._ask()
        else:
            self.over.set_result(None)
            self.transport.close()

    def _ask(self) -> None:
        body = (
            f'{{"run_ref":"{self.name}-{self.number}","finished_at":"2026-11-02T10:00:00",'
            '"pieces_inspected":50,"puckering":1}'
        ).encode()
        self.number, self.got, self.sent_at = self.number + 1, b"", time.perf_counter()
        self.transport.write(self.head % len(body) + body)


async def _all_ask(address: str, path: str, clients: int, seconds: float, prefix: str) -> None:
    where = urlsplit(address)
    head = (
        f"POST {path} HTTP/1.1\r\nHost: {where.netloc}\r\nContent-Type: application/json\r\n"
        "Content-Length: "
    ).encode() + b"%d\r\n\r\n"
    waits: list[float] = []
    let_go = threading.Event()
    threading.Thread(target=lambda: (sys.stdin.read(), let_go.set()), daemon=True).start()
    begun, processor = time.perf_counter(), time.process_time()
    end = begun + seconds

    def going_on(now: float) -> bool:
        return now < end or not let_go.is_set()

    loop = asyncio.get_running_loop()
    lines = [
        (
            await loop.create_connection(
                lambda number=number: Line(f"{prefix}{number}", head, waits, going_on),
                where.hostname,
                where.port,
            )
        )[1]
        for number in range(clients)
    ]
    await asyncio.gather(*(line.over for line in lines))
    found = {
        "waits": waits,
        "lasted": time.perf_counter() - begun,
        "own_seconds": time.process_time() - processor,
    }
    sys.stdout.write(json.dumps(found))


if __name__ == "__main__":
    asked_for = sys.argv[1:]
    run_loop(
        _all_ask(asked_for[0], asked_for[1], int(asked_for[2]), float(asked_for[3]), asked_for[4])
    )
