"""A small application behind the real guard: an API, a page and a page's open line."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Annotated

from fastapi import Depends, FastAPI, Request, WebSocket
from starlette.exceptions import StarletteDeprecationWarning

from logbook.service.access.attempts import Attempts
from logbook.service.access.credentials import Credentials, Role, new_credentials, write_credentials
from logbook.service.access.guard import Guarded, answer_refusals
from logbook.service.access.headers import SafeHeaders
from logbook.service.access.origins import OwnOriginOnly
from logbook.service.access.passcodes import with_passcode
from logbook.service.access.rights import Access, Caller
from logbook.service.access.sign_in import sign_in_routes
from logbook.service.access.tokens import with_token
from logbook.service.api.callers import allowed

with warnings.catch_warnings():
    # It asks for another library than the one that the tests have; this one still works.
    warnings.simplefilter("ignore", StarletteDeprecationWarning)
    from starlette.testclient import TestClient

__all__ = ["TestClient", "browser", "credentials_of_both", "guarded", "signed_in", "with_tokens"]

PASSCODES: dict[Role, str] = {"operator": "needle hoop towel", "reviewer": "backing film cap"}
ADDRESS = "http://127.0.0.1:8750"
PAGE = {"Accept": "text/html"}
LINE = "ws://127.0.0.1:8750/line"


def credentials_of_both() -> Credentials:
    """Both passcodes set."""
    credentials = new_credentials()
    for role, words in PASSCODES.items():
        credentials = with_passcode(credentials, role, words)
    return credentials


def with_tokens(folder: Path, credentials: Credentials) -> dict[Role, str]:
    """Add a token a role and keep all of it in a folder; the tokens."""
    tokens: dict[Role, str] = {}
    for role in PASSCODES:
        credentials, tokens[role] = with_token(credentials, f"{role}-token", role)
    write_credentials(folder, credentials)
    return tokens


def guarded(access: Access, attempts: Attempts | None = None) -> FastAPI:
    """The application; ``/api/...`` by rights, ``/page`` and ``/line`` for browsers."""
    app = FastAPI()
    app.include_router(sign_in_routes(access, attempts or Attempts()))
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


def browser(access: Access, attempts: Attempts | None = None) -> TestClient:
    """A browser, or a program, that does not follow where it is sent."""
    return TestClient(guarded(access, attempts), base_url=ADDRESS, follow_redirects=False)


def signed_in(client: TestClient, role: Role) -> TestClient:
    """Sign in with the passcode of a role."""
    assert client.post("/sign-in", data={"passcode": PASSCODES[role]}).status_code == 303
    return client
