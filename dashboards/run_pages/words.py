"""A run's values as people say them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboards.run_entry.setup_words import size_words
from dashboards.shared import value_words
from logbook.runs.columns import Column
from logbook.wording import number, percent

ONE_OF = {
    "pieces": "piece",
    "events": "event",
    "layers": "layer",
    "heads": "head",
    "minutes": "minute",
    "stitches": "stitch",
}

WAYS = {
    "form": "from the form",
    "command line": "from the command line",
    "api": "over HTTP",
    "demo": "from the demo",
    "Runs page": "on the page Runs",
}


def came_from(source: str) -> str:
    """Say by which way a version came: ``from the form``, ``over HTTP (till 2)``."""
    way, comma, name = source.partition(", ")
    if way == "api" and comma:
        return f"over HTTP ({name})"
    return WAYS.get(source, f"from {source}")


def said(column: Column, value: Any) -> str:
    """Say a value with its unit: ``1 piece``, ``75/11``, ``4 (5 is smooth)``."""
    if value is None:
        return "not recorded"
    if column.name == "needle_nm":
        return size_words(value)
    if column.name == "pucker_grade":
        return f"{number(value)} (5 is smooth)"
    if value == 1 and column.unit in ONE_OF and not isinstance(value, bool):
        return f"1 {ONE_OF[column.unit]}"
    if isinstance(value, float):
        # As it was recorded: a row spacing of 0.42 mm is not one of 0.4.
        return f"{value:,.10g} {column.unit}" if column.unit else f"{value:,.10g}"
    return value_words(column, value)


def said_in(run: Mapping[str, Any], column: Column) -> str:
    """Say a value of a run; a count of pieces with its share of those inspected."""
    value, words = run.get(column.name), said(column, run.get(column.name))
    inspected = run.get("pieces_inspected") or run.get("pieces_sewn")
    if column.part == "outcome" and column.unit == "pieces" and value and inspected:
        return f"{words} of {number(inspected)} ({percent(value / inspected)})"
    return words


def is_held(run: Mapping[str, Any]) -> bool:
    """Whether needle parts are not all found."""
    return run.get("needle_parts_found") is False
