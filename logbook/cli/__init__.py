"""The command ``logbook``: a thin skin over :mod:`logbook.answers`."""

from __future__ import annotations

from logbook.cli.app import main

__all__ = ["main"]
