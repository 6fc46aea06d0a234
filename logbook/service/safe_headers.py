"""Headers that tell a browser what our pages never do: load from outside, or stand in a frame."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import MutableMapping
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
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
        wanted = {
            "Content-Security-Policy": policy(Headers(scope=scope).get("host", "")),
            "X-Content-Type-Options": "nosniff",
            # Not no-referrer: browsers would then send forms without saying from where.
            "Referrer-Policy": "same-origin",
            "X-Frame-Options": "DENY",
            "Cross-Origin-Opener-Policy": "same-origin",
            "Cross-Origin-Resource-Policy": "same-origin",
            "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=()",
        }

        async def dressed(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in wanted.items():
                    headers.setdefault(name, value)
            await send(message)

        await self.app(scope, receive, dressed)


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
            f"script-src 'self'{hashes}",
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
