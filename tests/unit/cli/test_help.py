"""Every ``--help`` is a promise to users: kept as text files, so that a change is seen."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from typer import Typer
from typer.testing import CliRunner

from logbook.cli.app import COMMANDS, application

SNAPSHOTS = Path(__file__).parent / "help"
BELOW = [
    f"{command.name} {each.callback.__name__.strip('_')}"
    for command in COMMANDS
    if isinstance(command.function, Typer)
    for each in command.function.registered_commands
    if each.callback is not None
]
NAMES = ["", *(command.name for command in COMMANDS), *BELOW]


def _help(name: str) -> str:
    words = [*name.split(), "--help"]
    shown = CliRunner().invoke(application, words, prog_name="logbook", terminal_width=100)
    assert shown.exit_code == 0
    return "\n".join(line.rstrip() for line in shown.output.splitlines()) + "\n"


def _file(name: str) -> str:
    return name.replace(" ", "-") or "logbook"


@pytest.mark.parametrize("name", NAMES)
def test_help_is_as_kept(name: str, request: pytest.FixtureRequest) -> None:
    kept = SNAPSHOTS / f"{_file(name)}.txt"
    if request.config.getoption("--keep-help"):
        kept.write_text(_help(name), encoding="utf-8")
    assert _help(name) == kept.read_text(encoding="utf-8"), "run pytest --keep-help and look"


def test_no_snapshot_without_a_command() -> None:
    assert {path.stem for path in SNAPSHOTS.glob("*.txt")} == set(map(_file, NAMES))


def test_help_loads_nothing_heavy() -> None:
    probe = (
        "import sys, logbook.cli.app\n"
        "heavy = {'polars', 'duckdb', 'streamlit', 'plotly', 'scipy', 'numpy', 'rich', 'fastapi'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
