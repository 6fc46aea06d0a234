"""The address of the page that shows the runs behind a figure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TypeAlias
from urllib.parse import urlencode

from logbook.runs.factors import NOT_RECORDED

Level: TypeAlias = str | float | bool | None
PAGE = "/runs"


def runs_address(
    level: Mapping[str, Level],
    *,
    since: date | None = None,
    until: date | None = None,
    site: str | None = None,
    showing: str | None = None,
    held: bool = False,
) -> str:
    """Where the page Runs shows the runs of a level: ``/runs?backing_lot=A2431&since=2026-02-23``.

    Parameters
    ----------
    level
        Columns and their values, as cells hold them; None for what is not recorded.
    since, until, site
        Days, both included, and one site.
    showing
        A defect kind that was counted, or ``any``.
    held
        Only runs whose needle parts are missing.
    """
    told = {
        "since": "" if since is None else since.isoformat(),
        "until": "" if until is None else until.isoformat(),
        "site": site or "",
        "showing": showing or "",
        "held": "yes" if held else "",
    }
    asked = {name: told_level(value) for name, value in level.items()}
    asked |= {name: value for name, value in told.items() if value}
    return f"{PAGE}?{urlencode(asked)}" if asked else PAGE


def told_level(level: Level) -> str:
    """A level as an address says it."""
    if level is None:
        return NOT_RECORDED
    if isinstance(level, bool):
        return str(level).lower()
    return f"{level:.10g}" if isinstance(level, float) else str(level)
