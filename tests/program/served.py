"""The real service, in a process of its own, on a free port."""

from __future__ import annotations

import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

UP_WITHIN_SECONDS = 60.0
DOWN_WITHIN_SECONDS = 30.0


@dataclass
class Served:
    """A running service: where it is, and how to stop it."""

    place: Path
    address: str
    process: subprocess.Popen[str]

    def stop(self, with_signal: signal.Signals = signal.SIGTERM) -> int:
        """Stop it as an administrator would; its exit status."""
        if self.process.poll() is None:
            self.process.send_signal(with_signal)
        return self.process.wait(DOWN_WITHIN_SECONDS)


@contextmanager
def serving(place: Path, *options: str) -> Iterator[Served]:
    """Serve a book on a free port with options of the command, until the block ends."""
    process = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "logbook",
            "--book",
            str(place),
            "serve",
            "--port",
            str(free_port()),
            *options,
        ],
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stderr is not None
        said = process.stderr.readline()
        assert "is open at http://" in said, said + process.stderr.read()
        served = Served(place, said.split(" is open at ")[1].split()[0], process)
        _wait_for(served.address + "/health")
        yield served
    finally:
        process.terminate()
        process.communicate(timeout=DOWN_WITHIN_SECONDS)


def free_port() -> int:
    """Ask the system for a port that nobody listens on."""
    with socket.socket() as asking:
        asking.bind(("127.0.0.1", 0))
        return int(asking.getsockname()[1])


def _wait_for(address: str) -> None:
    give_up = time.monotonic() + UP_WITHIN_SECONDS
    while True:
        try:
            with urllib.request.urlopen(address) as answer:
                answer.read()
            return
        except urllib.error.URLError:
            if time.monotonic() > give_up:
                raise
            time.sleep(0.05)
