from __future__ import annotations

import json
import signal
import socket
import urllib.error
import urllib.parse
import urllib.request
from pathlib import Path

import pytest
from guarded_app import PASSCODES
from logged_runs import book_of_one, empty_book
from served import serving

from logbook import service
from logbook.errors import BookBusy, NoBook, ServiceError
from logbook.service.access.credentials import Credentials, write_credentials
from logbook.store import open_book


def test_a_taken_port_is_said_with_another_to_try(tmp_path: Path) -> None:
    empty_book(tmp_path / "book").close()
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(ServiceError, match=f"Port {port} on 127.0.0.1 is in use") as caught:
            service.run(str(tmp_path / "book"), port=port)
    assert "--port" in (caught.value.hint or "")


def test_without_a_book_nothing_is_served(tmp_path: Path) -> None:
    with pytest.raises(NoBook):
        service.run(str(tmp_path / "nowhere"), port=0)


def test_a_shop_network_is_served_only_with_passcodes(tmp_path: Path) -> None:
    empty_book(tmp_path / "book").close()
    for reached in ({"host": "0.0.0.0"}, {"names": ("shop.example",)}, {"proxies": ("10.0.0.1",)}):
        with pytest.raises(ServiceError, match="no passcode is set") as refused:
            service.run(str(tmp_path / "book"), port=0, **reached)  # type: ignore[arg-type]
        assert "logbook passcode operator" in (refused.value.hint or "")
    open_book(str(tmp_path / "book")).close()  # let go of


def test_the_book_of_a_process_is_opened_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book_of_one(tmp_path / "book").close()
    monkeypatch.setenv("LOGBOOK_BOOK", str(tmp_path / "book"))
    try:
        assert service.the_book() is service.the_book()
    finally:
        service.close_book()


@pytest.mark.parametrize("stop", [signal.SIGTERM, signal.SIGINT])
def test_the_service_answers_for_this_machine_and_closes_the_book(
    tmp_path: Path, stop: signal.Signals
) -> None:
    place = tmp_path / "book"
    book_of_one(place).close()
    with serving(place) as served:
        with urllib.request.urlopen(served.address + "/health") as answer:
            assert json.load(answer) == {"status": "ok"}
        with pytest.raises(BookBusy) as busy:
            open_book(str(place), wait_seconds=0.0)
        assert busy.value.process_id == served.process.pid
        assert _status(served.address + "/health", Host="shop.example") == 400
        assert _status(served.address + "/", Origin="https://elsewhere.example") == 403
        with urllib.request.urlopen(served.address + "/ready") as answer:
            assert json.load(answer) == {"status": "ready"}
        assert _status(served.address + "/docs") == 200  # the pages' own, not fetched scripts
        assert served.stop(stop) == 0
    with open_book(str(place)) as store:
        assert store.count() == 1


@pytest.mark.parametrize("believed", [True, False])
def test_what_a_proxy_says_is_believed_only_where_it_is_named(
    tmp_path: Path, both: Credentials, believed: bool
) -> None:
    empty_book(tmp_path / "book").close()
    write_credentials(tmp_path / "book", both)
    name = ("--name", "logbook.example")
    options = (*name, "--proxy", "127.0.0.1", "--log", "json") if believed else name
    with serving(tmp_path / "book", *options) as served:
        asked = urllib.request.Request(
            served.address + "/sign-in",
            urllib.parse.urlencode({"passcode": PASSCODES["operator"]}).encode(),
            {
                "Host": "logbook.example",
                "Origin": "https://logbook.example",
                "X-Forwarded-Proto": "https",
                "X-Forwarded-For": "198.51.100.7",
            },
        )
        with pytest.raises(urllib.error.HTTPError) as answered:
            urllib.request.build_opener(_Staying).open(asked)
        with answered.value as answer:
            assert answer.code == 303
            assert ("; secure" in answer.headers["set-cookie"].lower()) is believed
        served.process.terminate()
        told = served.process.stderr.read() if served.process.stderr else ""
        assert ("198.51.100.7" in told) is believed
        assert PASSCODES["operator"] not in told


class _Staying(urllib.request.HTTPRedirectHandler):
    """Does not go where it is sent."""

    def redirect_request(self, *_: object, **__: object) -> None:
        return None


def _status(address: str, **headers: str) -> int:
    try:
        with urllib.request.urlopen(urllib.request.Request(address, headers=headers)) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as refused:
        with refused:
            return refused.code
