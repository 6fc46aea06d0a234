from __future__ import annotations

import json
import logging
from collections.abc import Iterator

import pytest
from guarded_app import ADDRESS, TestClient, guarded

from logbook.service.access.rights import Access
from logbook.service.logs import OTHERS, ROOM, LoggedRequests, Style, say_as_line, set_up_logging


@pytest.fixture(autouse=True)
def _as_before() -> Iterator[None]:
    loggers = [logging.getLogger(name) for name in (ROOM, *OTHERS)]
    before = [(each.handlers, each.propagate, each.level) for each in loggers]
    yield
    for logger, (handlers, propagate, level) in zip(loggers, before, strict=True):
        logger.handlers, logger.propagate = handlers, propagate
        logger.setLevel(level)


def _asked(access: Access) -> None:
    client = TestClient(LoggedRequests(guarded(access)), base_url=ADDRESS, follow_redirects=False)
    client.get("/page?secret=in-the-address", headers={"Authorization": "Bearer logbook_secret"})


def test_each_request_is_one_json_object_without_what_was_asked(
    access: Access, capsys: pytest.CaptureFixture[str]
) -> None:
    set_up_logging("json")
    say_as_line("The book is open")
    _asked(access)
    opened, request = (json.loads(line) for line in capsys.readouterr().err.splitlines())
    assert (opened["says"], opened["level"]) == ("The book is open", "info")
    assert (request["method"], request["path"], request["status"]) == ("GET", "/page", 401)
    assert request["milliseconds"] >= 0
    assert "secret" not in json.dumps(request)


@pytest.mark.parametrize("style", ["plain", "json"])
def test_a_failure_keeps_to_its_lines(style: Style, capsys: pytest.CaptureFixture[str]) -> None:
    set_up_logging(style)
    try:
        raise ValueError("broken")
    except ValueError:
        logging.getLogger("uvicorn.error").exception("it failed")
    told = capsys.readouterr().err
    assert "ValueError: broken" in told
    if style == "json":
        (line,) = told.splitlines()
        assert json.loads(line)["level"] == "error"
    else:
        assert told.startswith("error: it failed\n")


def test_people_are_told_only_what_stands_out(
    access: Access, capsys: pytest.CaptureFixture[str]
) -> None:
    set_up_logging("plain")
    _asked(access)
    assert capsys.readouterr().err == ""
    logging.getLogger(ROOM).warning("a wrong passcode", extra={"address": "10.0.0.1"})
    assert capsys.readouterr().err == "warning: a wrong passcode (address=10.0.0.1)\n"
