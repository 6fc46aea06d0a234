"""Addresses of the page Runs, as figures link to it."""

from __future__ import annotations

from datetime import date

from logbook.runs.address import runs_address


def test_an_address_says_levels_days_and_what_was_counted() -> None:
    assert runs_address({}) == "/runs"
    assert runs_address({"backing_lot": "A 2431"}) == "/runs?backing_lot=A+2431"
    level = {"needle_nm": 75, "backing_gsm": 60.0, "fabric_sheer": True, "machine": None}
    assert runs_address(level) == (
        "/runs?needle_nm=75&backing_gsm=60&fabric_sheer=true&machine=not+recorded"
    )
    days = {"since": date(2026, 2, 23), "until": date(2026, 3, 22)}
    assert runs_address({}, **days, site="North", showing="gaps", held=True) == (
        "/runs?since=2026-02-23&until=2026-03-22&site=North&showing=gaps&held=yes"
    )
