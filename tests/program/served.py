"""The real service, in a process of its own, on a free port."""

from __future__ import annotations

import random
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

UP_WITHIN_SECONDS = 120.0
DOWN_WITHIN_SECONDS = 60.0
PORTS = range(20_000, 32_000)
"""Below those that a system gives to lines going out, so that none of them takes one meanwhile."""
TRIES = 5


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
    """Serve a book with options of the command, on a free port if none is named."""
    process, said = _started(place, options)
    try:
        served = Served(place, said.split(" is open at ")[1].split()[0], process)
        _wait_for(served.address + "/health")
        yield served
    finally:
        process.terminate()
        try:
            process.communicate(timeout=DOWN_WITHIN_SECONDS)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()
            raise


def _started(place: Path, options: tuple[str, ...]) -> tuple[subprocess.Popen[str], str]:
    """Start it, on another port where somebody else was quicker; what it says of itself."""
    for _ in range(TRIES):
        port = () if "--port" in options else ("--port", str(free_port()))
        process = subprocess.Popen(
            [sys.executable, "-m", "logbook", "--book", str(place), "serve", *port, *options],
            stderr=subprocess.PIPE,
            text=True,
        )
        assert process.stderr is not None
        said = ""
        for line in process.stderr:
            if "is open at http://" in line:
                return process, line
            said += line
        process.wait()
        if not (port and "is in use" in said):
            break
    raise AssertionError(said)


def free_port() -> int:
    """Find a port that nobody listens on."""
    while True:
        port = random.SystemRandom().choice(PORTS)
        with socket.socket() as asking:
            try:
                asking.bind(("127.0.0.1", port))
            except OSError:
                continue
        return port


def _wait_for(address: str) -> None:
    give_up = time.monotonic() + UP_WITHIN_SECONDS
    while True:
        try:
            with urllib.request.urlopen(address, timeout=UP_WITHIN_SECONDS) as answer:
                answer.read()
            return
        except OSError:
            if time.monotonic() > give_up:
                raise
            time.sleep(0.05)
