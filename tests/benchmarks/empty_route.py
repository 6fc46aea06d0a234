"""What HTTP alone costs: the same server, and a route that reads the body and says 201."""

from __future__ import annotations

import multiprocessing
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import uvicorn

ANSWER = (
    b'{"added": 1, "skipped": 0, "rejected": [], "run_refs": ["C1-1"], "held": [], "notes": []}'
)
HEADERS = [
    (b"content-type", b"application/json"),
    (b"content-length", str(len(ANSWER)).encode()),
]


async def empty(scope: Any, receive: Any, send: Any) -> None:
    """Read the body to its end, and answer."""
    if scope["type"] != "http":
        return
    while (await receive()).get("more_body"):
        pass
    await send({"type": "http.response.start", "status": 201, "headers": HEADERS})
    await send({"type": "http.response.body", "body": ANSWER})


def _serve(listening: socket.socket) -> None:
    config = uvicorn.Config(empty, log_config=None, access_log=False, server_header=False)
    uvicorn.Server(config).run(sockets=[listening])


@contextmanager
def serving_nothing() -> Iterator[str]:
    """Serve the empty route in a process of its own; its address."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen(256)
        process = multiprocessing.get_context("fork").Process(target=_serve, args=(listening,))
        process.start()
        try:
            time.sleep(1.0)
            yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        finally:
            process.terminate()
            process.join(30)
