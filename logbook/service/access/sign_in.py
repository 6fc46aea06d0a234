"""Signing in and out: a passcode for a session, on a page that works without scripts."""

from __future__ import annotations

import logging
import time
from urllib.parse import parse_qs, urlsplit

from anyio import CapacityLimiter
from anyio.to_thread import run_sync
from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.responses import Response

from logbook.assets import page_template
from logbook.charts.theme import DARK, FONT, LIGHT
from logbook.service.access.attempts import Attempts
from logbook.service.access.credentials import Role
from logbook.service.access.guard import SIGN_IN, SIGN_OUT
from logbook.service.access.passcodes import LONGEST_PASSCODE, role_of_passcode
from logbook.service.access.rights import RIGHTS, Access
from logbook.service.access.sessions import SESSION_SECONDS, begin_session, cookie_name, cookie_of

HASHED_AT_ONCE = 1
"""Each try takes 32 MB and a core: one after the other."""
FORM = "application/x-www-form-urlencoded"
LOG = logging.getLogger("logbook.service")


def sign_in_routes(access: Access, attempts: Attempts) -> APIRouter:
    """Build the routes.

    Parameters
    ----------
    access
        Of the served book.
    attempts
        Counts wrong passcodes.
    """
    router = APIRouter(include_in_schema=False)
    one_by_one: list[CapacityLimiter] = []

    async def given_role(words: str) -> Role | None:
        if not one_by_one:
            one_by_one.append(CapacityLimiter(HASHED_AT_ONCE))
        return await run_sync(role_of_passcode, access.credentials(), words, limiter=one_by_one[0])

    @router.get(SIGN_IN)
    def sign_in_page(request: Request) -> Response:
        session = access.session(request.cookies)
        if session is None and not access.asks_browsers():
            return RedirectResponse("/", status_code=303)
        following = own_place(request.query_params.get("next"))
        return _page(following, role=None if session is None else session.role)

    @router.post(SIGN_IN)
    async def sign_in(request: Request) -> Response:
        form = await _form(request)
        following, words = own_place(form.get("next")), form.get("passcode", "")
        address = request.client.host if request.client else "unknown"
        if wait := attempts.begin(address):
            return _page(following, problem=_wait_words(wait), status=429, wait=wait)
        role = None if len(words) > LONGEST_PASSCODE else await given_role(words)
        if role is None:
            LOG.warning("a wrong passcode", extra={"address": address})
            return _page(following, problem="That is not a passcode of this book.", status=401)
        attempts.right(address)
        LOG.info("signed in", extra={"address": address, "role": role})
        return _with_session(request, access, role, following)

    @router.post(SIGN_OUT)
    def sign_out(request: Request) -> Response:
        session = access.session(request.cookies)
        if session is not None:
            access.end(session)
        answer = RedirectResponse(SIGN_IN, status_code=303, headers={"Cache-Control": "no-store"})
        answer.delete_cookie(cookie_name(access.credentials()), path="/")
        return answer

    return router


def own_place(address: str | None) -> str:
    """Where to go after signing in: a place of ours, never another site."""
    if address is None or not address.startswith("/") or "\\" in address:
        return "/"
    try:
        place = urlsplit(address)
    except ValueError:
        return "/"
    is_path = not place.scheme and not place.netloc and not address.startswith("//")
    is_ours = is_path and address.isprintable()
    return address if is_ours and place.path not in (SIGN_IN, SIGN_OUT) else "/"


def _with_session(request: Request, access: Access, role: Role, following: str) -> Response:
    before = access.session(request.cookies)
    if before is not None:
        access.end(before)
    credentials = access.credentials()
    answer = RedirectResponse(following, status_code=303, headers={"Cache-Control": "no-store"})
    answer.set_cookie(
        cookie_name(credentials),
        cookie_of(credentials, begin_session(credentials, role, now=time.time())),
        max_age=SESSION_SECONDS,
        path="/",
        httponly=True,
        samesite="strict",
        # The scheme is https only where a proxy that is believed says so.
        secure=request.url.scheme == "https",
    )
    return answer


async def _form(request: Request) -> dict[str, str]:
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() != FORM:
        raise HTTPException(415, "Send the form of the sign-in page.")
    body = (await request.body()).decode("utf-8", "replace")
    try:
        fields = parse_qs(body, max_num_fields=8, keep_blank_values=True)
    except ValueError as cause:
        raise HTTPException(400, "Send the form of the sign-in page.") from cause
    return {name: values[0] for name, values in fields.items()}


def _wait_words(seconds: int) -> str:
    for_how_long = f"{seconds} seconds" if seconds < 120 else f"{-(-seconds // 60)} minutes"
    if seconds == 1:
        for_how_long = "1 second"
    return f"Too many wrong passcodes. Wait {for_how_long}, then try again."


def _page(
    following: str,
    *,
    problem: str | None = None,
    role: Role | None = None,
    status: int = 200,
    wait: int = 0,
) -> Response:
    page = page_template("sign_in").render(
        following=following,
        problem=problem,
        role=role,
        may_review=role is not None and "review" in RIGHTS[role],
        light=LIGHT,
        dark=DARK,
        font=FONT,
        longest=LONGEST_PASSCODE,
        sign_in=SIGN_IN,
        sign_out=SIGN_OUT,
    )
    headers = {"Cache-Control": "no-store"} | ({"Retry-After": str(wait)} if wait else {})
    return HTMLResponse(page, status_code=status, headers=headers)
