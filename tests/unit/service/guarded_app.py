"""A small application behind the real guard: an API, a page and a page's open line."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Annotated

from fastapi import Depends, FastAPI, Request, WebSocket
from starlette.exceptions import StarletteDeprecationWarning

from logbook.service.access import Access, Caller, allowed
from logbook.service.attempts import Attempts
from logbook.service.doors import OwnOriginOnly
from logbook.service.guarding import Guarded
from logbook.service.passcodes import (
    Rights,
    Role,
    new_rights,
    with_passcode,
    with_token,
    write_rights,
)
from logbook.service.refusals import answer_refusals
from logbook.service.safe_headers import SafeHeaders
from logbook.service.signing_in import sign_in_routes

with warnings.catch_warnings():
    # It asks for another library than the one that the tests have; this one still works.
    warnings.simplefilter("ignore", StarletteDeprecationWarning)
    from starlette.testclient import TestClient

__all__ = ["TestClient", "browser", "guarded", "rights_of_both", "signed_in", "with_tokens"]

PASSCODES: dict[Role, str] = {"operator": "needle hoop towel", "reviewer": "backing film cap"}
ADDRESS = "http://127.0.0.1:8750"
PAGE = {"Accept": "text/html"}
LINE = "ws://127.0.0.1:8750/line"


def rights_of_both() -> Rights:
    """Both passcodes set."""
    rights = new_rights()
    for role, words in PASSCODES.items():
        rights = with_passcode(rights, role, words)
    return rights


def with_tokens(folder: Path, rights: Rights) -> dict[Role, str]:
    """Add a token a role and keep all of it in a folder; the tokens."""
    tokens: dict[Role, str] = {}
    for role in PASSCODES:
        rights, tokens[role] = with_token(rights, f"{role}-token", role)
    write_rights(folder, rights)
    return tokens


def guarded(access: Access) -> FastAPI:
    """The application; ``/api/...`` by rights, ``/page`` and ``/line`` for browsers."""
    app = FastAPI()
    app.include_router(sign_in_routes(access, Attempts()))
    answer_refusals(app)

    @app.post("/api/log")
    def log(who: Annotated[Caller, Depends(allowed("log"))]) -> str:
        return who.name

    @app.get("/api/read")
    def read(who: Annotated[Caller, Depends(allowed("read"))]) -> str:
        return who.name

    @app.delete("/api/review")
    def review(who: Annotated[Caller, Depends(allowed("review"))]) -> str:
        return who.name

    @app.post("/api/size")
    async def size(request: Request) -> int:
        return len(await request.body())

    @app.get("/page")
    def page() -> str:
        return "the record"

    @app.websocket("/line")
    async def line(websocket: WebSocket) -> None:
        await websocket.accept()
        async for words in websocket.iter_text():
            await websocket.send_text(words)

    app.add_middleware(Guarded, access=access)
    app.add_middleware(OwnOriginOnly)
    app.add_middleware(SafeHeaders)
    return app


def browser(access: Access) -> TestClient:
    """A browser, or a program, that does not follow where it is sent."""
    return TestClient(guarded(access), base_url=ADDRESS, follow_redirects=False)


def signed_in(client: TestClient, role: Role) -> TestClient:
    """Sign in with the passcode of a role."""
    assert client.post("/sign-in", data={"passcode": PASSCODES[role]}).status_code == 303
    return client
