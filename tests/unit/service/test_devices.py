from __future__ import annotations

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from logbook.service.devices import COOKIE, NamedDevices, device_named

PAGE = {"accept": "text/html"}


@pytest.fixture
def client() -> TestClient:
    app = FastAPI()
    app.add_middleware(NamedDevices)

    @app.get("/")
    def page() -> str:
        return "page"

    return TestClient(app)


def test_a_browser_without_a_name_is_given_one_and_keeps_it(client: TestClient) -> None:
    first = client.get("/", headers=PAGE)
    assert "HttpOnly" in first.headers["set-cookie"]
    assert "SameSite=Lax" in first.headers["set-cookie"]
    assert "Secure" not in first.headers["set-cookie"]
    name = device_named(dict(client.cookies))
    assert name is not None
    assert "set-cookie" not in client.get("/", headers=PAGE).headers
    assert device_named(dict(client.cookies)) == name


def test_two_browsers_have_two_names(client: TestClient) -> None:
    names = set()
    for _ in range(2):
        client.cookies.clear()
        client.get("/", headers=PAGE)
        names.add(device_named(dict(client.cookies)))
    assert len(names) == 2


def test_what_is_no_page_is_given_none(client: TestClient) -> None:
    assert "set-cookie" not in client.get("/", headers={"accept": "application/json"}).headers


@pytest.mark.parametrize("cookie", ["", "x", "0" * 31, "Z" * 32, "0" * 33])
def test_a_name_that_is_not_ours_is_none(cookie: str) -> None:
    assert device_named({COOKIE: cookie}) is None
