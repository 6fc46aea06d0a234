"""The README's example, sent to the real service as it stands there."""

from __future__ import annotations

import json
import re
import shlex
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

from logged_runs import empty_book
from served import serving

README = Path(__file__).parents[4] / "README.md"


def _section() -> str:
    text = README.read_text(encoding="utf-8")
    return text.split("## For other systems\n")[1].split("\n## ")[0]


def _request(command: str, address: str) -> urllib.request.Request:
    """What curl would send; every option of the example must be known here."""
    words = shlex.split(command.replace("\\\n", " "))
    assert words.pop(0) == "curl"
    headers: dict[str, str] = {}
    body, url = None, ""
    while words:
        word = words.pop(0)
        if word == "-H":
            name, _, value = words.pop(0).partition(": ")
            headers[name] = value
        elif word == "-d":
            body = words.pop(0).encode()
        else:
            assert word.startswith("http://127.0.0.1:8750/")
            url = word.replace("http://127.0.0.1:8750", address)
    return urllib.request.Request(url, data=body, headers=headers)


def _sent(request: urllib.request.Request) -> tuple[int, Any]:
    try:
        with urllib.request.urlopen(request) as answer:
            return answer.status, json.load(answer)
    except urllib.error.HTTPError as problem:
        with problem:
            return problem.code, json.load(problem)


def test_the_readmes_example_is_answered_as_it_says(tmp_path: Path) -> None:
    command, says = re.findall(r"```\n(.*?)```", _section(), flags=re.S)
    empty_book(tmp_path / "book").close()
    with serving(tmp_path / "book") as served:
        request = _request(command, served.address)
        assert _sent(request) == (201, json.loads(says))
        assert _sent(request) == (201, json.loads(says))
        listed = re.findall(r"(?:GET )?(/api/[a-z]+(?:\?[^`)\s]*)?)[`)]", _section())
        assert len(listed) >= 7
        for address in listed:
            status, told = _sent(urllib.request.Request(served.address + address))
            assert status in (200, 422), (address, told)
        with urllib.request.urlopen(served.address + "/api/docs") as page:
            assert page.headers["content-security-policy"].startswith("default-src 'none'")
        assert _sent(urllib.request.Request(served.address + "/api/nothing"))[0] == 404
        line_break = urllib.request.Request(served.address + "/api/runs/a%0Ab")
        assert _sent(line_break)[1]["status"] == 404
    with serving(tmp_path / "book") as served:
        assert _sent(_request(command, served.address)) == (201, json.loads(says))
        runs = _sent(urllib.request.Request(served.address + "/api/runs"))[1]["runs"]
        assert [run["run_ref"] for run in runs] == json.loads(says)["run_refs"]
