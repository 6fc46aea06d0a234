"""Headers that tell a browser what our pages never do: load from outside, or stand in a frame."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import MutableMapping
from functools import cache, lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from logbook.errors import ServiceError

_INLINE = re.compile(rb"<script>(.*?)</script>", re.DOTALL)


class SafeHeaders:
    """Put the headers on every answer that does not bring its own."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, and dress its answer."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        host = Headers(scope=scope).get("host", "")

        async def dressed(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                own = list(message.get("headers", ()))
                named = {name.lower() for name, _ in own}
                message["headers"] = own + [each for each in _wanted(host) if each[0] not in named]
            await send(message)

        await self.app(scope, receive, dressed)


@lru_cache(maxsize=64)
def _wanted(host: str) -> tuple[tuple[bytes, bytes], ...]:
    wanted = {
        "content-security-policy": policy(host),
        "x-content-type-options": "nosniff",
        # Not no-referrer: browsers would then send forms without saying from where.
        "referrer-policy": "same-origin",
        "x-frame-options": "DENY",
        "cross-origin-opener-policy": "same-origin",
        "cross-origin-resource-policy": "same-origin",
        "permissions-policy": "camera=(self), microphone=(), geolocation=(), payment=()",
    }
    return tuple((name.encode(), value.encode("latin-1")) for name, value in wanted.items())


def policy(host: str) -> str:
    """Say what a page may load: only ours.

    Parameters
    ----------
    host
        What the request calls this service; older browsers do not count a page's own line
        (WebSocket) as its own, so it is named.
    """
    lines = f" ws://{host} wss://{host}" if re.fullmatch(r"[\w.\-:\[\]]+", host) else ""
    hashes = "".join(f" 'sha256-{each}'" for each in inline_scripts())
    return "; ".join(
        (
            "default-src 'self'",
            # Parts of ours with a script (taps on a drawing) are loaded as blobs by Streamlit; only
            # a script that runs already can make one.
            f"script-src 'self' blob:{hashes}",
            # The pages' parts write their styles as they are drawn.
            "style-src 'self' 'unsafe-inline'",
            "img-src 'self' data: blob:",
            "font-src 'self' data:",
            f"connect-src 'self'{lines}",
            "worker-src 'self' blob:",
            "object-src 'none'",
            "base-uri 'self'",
            "form-action 'self'",
            "frame-ancestors 'none'",
        )
    )


@cache
def inline_scripts() -> tuple[str, ...]:
    """Hashes of the scripts inside Streamlit's own first page, which changes between versions."""
    found = find_spec("streamlit")
    if found is None or found.origin is None:
        raise ServiceError("Streamlit is not installed.", "install the project anew: uv sync")
    page = (Path(found.origin).parent / "static" / "index.html").read_bytes()
    return tuple(
        base64.b64encode(hashlib.sha256(script).digest()).decode()
        for script in _INLINE.findall(page)
    )
