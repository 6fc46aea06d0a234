"""Parameters that cannot be taken, each told in one plain sentence."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

Fault = Mapping[str, Any]
SHOWN = 40
"""Signs of a value that a sentence repeats."""


def named(fault: Fault) -> str:
    """The parameter at fault; empty where the question as a whole is."""
    place = [str(part) for part in fault["loc"]]
    return ".".join(place[1:] if place[:1] == ["query"] else place)


def said(fault: Fault) -> str:
    """What is wrong with a parameter.

    Parameters
    ----------
    fault
        One of the errors of a validation: ``type``, ``loc``, ``msg``, ``input`` and, for limits
        and choices, ``ctx``.
    """
    told = _SENTENCES.get(fault["type"])
    if told is not None:
        return told(fault)
    name = named(fault)
    return f"{name}: {fault['msg']}" if name else str(fault["msg"])


def _missing(fault: Fault) -> str:
    return f"{named(fault)} is missing"


def _strange(fault: Fault) -> str:
    return f"there is no parameter {named(fault)!r} here"


def _choice(fault: Fault) -> str:
    allowed = str(fault["ctx"]["expected"]).replace("'", "")
    return f"{_found(fault)}; it can be {allowed}"


def _limit(fault: Fault) -> str:
    (name, limit), *_ = fault["ctx"].items()
    return f"{_found(fault)}; it must be {_LIMITS[name]} {limit:,}"


def _own(fault: Fault) -> str:
    """A sentence of ours, which leaves the parameter's name to be said here."""
    return f"{named(fault)} {fault['ctx']['error']}".lstrip()


def _kind(words: str) -> Callable[[Fault], str]:
    return lambda fault: f"{_found(fault)}, which is not {words}"


def _found(fault: Fault) -> str:
    value = str(fault["input"])
    shown = value if len(value) <= SHOWN else f"{value[:SHOWN]}…"
    return f"{named(fault)} is {shown!r}"


_LIMITS = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}
_SENTENCES: dict[str, Callable[[Fault], str]] = {
    "missing": _missing,
    "value_error": _own,
    "extra_forbidden": _strange,
    "literal_error": _choice,
    "enum": _choice,
    **dict.fromkeys(("greater_than", "greater_than_equal", "less_than", "less_than_equal"), _limit),
    **dict.fromkeys(
        ("int_parsing", "int_type", "int_from_float", "int_parsing_size"), _kind("a whole number")
    ),
    **dict.fromkeys(("float_parsing", "float_type", "finite_number"), _kind("a number")),
    **dict.fromkeys(("bool_parsing", "bool_type"), _kind("true or false")),
    **dict.fromkeys(
        ("date_type", "date_parsing", "date_from_datetime_parsing", "date_from_datetime_inexact"),
        _kind("a date such as 2026-09-01"),
    ),
    "string_type": _kind("a text"),
}
