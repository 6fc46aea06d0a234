"""A question that takes long says on standard error that it is under way."""

import io
import sys
import time

import pytest
from rich.console import Console

from logbook.cli import terminal
from logbook.cli.terminal import told_while_waiting


@pytest.fixture
def screen(monkeypatch: pytest.MonkeyPatch) -> io.StringIO:
    shown = io.StringIO()
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(
        terminal, "console", lambda *, stderr: Console(file=shown, force_terminal=stderr)
    )
    return shown


def test_what_takes_long_is_told(screen: io.StringIO, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(terminal, "SLOW_SECONDS", 0.0)
    with told_while_waiting("Comparing like jobs…"):
        until = time.monotonic() + 20
        while "Comparing like jobs…" not in screen.getvalue() and time.monotonic() < until:
            time.sleep(0.01)
    assert "Comparing like jobs…" in screen.getvalue()


def test_what_is_quick_or_broken_off_at_once_says_nothing(screen: io.StringIO) -> None:
    with pytest.raises(KeyboardInterrupt), told_while_waiting("Comparing like jobs…"):
        raise KeyboardInterrupt
    assert screen.getvalue() == ""


def test_where_nobody_watches_nothing_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: False, raising=False)
    monkeypatch.setattr(terminal, "console", None)
    with told_while_waiting("Comparing like jobs…"):
        pass
