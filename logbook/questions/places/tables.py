"""Marks of each kind in the densest places of a design."""

from __future__ import annotations

from logbook.questions.places.result import KindPlaces, PlacesResult
from logbook.questions.table import Cell, Heading, Table, Tone, table
from logbook.wording import number, percent, percent_interval


def tables(result: PlacesResult) -> tuple[Table, ...]:
    """One row a kind, the clearest first."""
    headings = (
        Heading("Kind"),
        Heading("marks", figures=True),
        Heading("runs", figures=True, wide_only=True),
        Heading("in the densest places", figures=True),
        Heading("of the stitches", figures=True, wide_only=True),
        Heading("leans there"),
    )
    return (table("Marks and density", headings, [_row(each) for each in result.kinds]),)


def _row(each: KindPlaces) -> list[str | Cell]:
    fit = each.fit
    said: dict[bool | None, tuple[str, Tone]] = {
        True: ("yes", "alarm"),
        False: ("no", ""),
        None: ("cannot be told", "quiet"),
    }
    doubt = percent_interval((fit.top_lower, fit.top_upper))
    return [
        each.label,
        number(fit.marks),
        number(fit.groups),
        f"{percent(fit.top_share, 0)} ({doubt})",
        percent(fit.top, 0),
        Cell(*said[each.leans]),
    ]
