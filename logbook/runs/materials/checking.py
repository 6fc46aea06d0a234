"""Plain values of a material read one by one, each refusal in a sentence."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, NoReturn

from logbook.errors import RecordError
from logbook.vocabulary.choices import ChoiceList

LONGEST_NAME = 120
LONGEST_TEXT = 4000

Values = Mapping[str, Any]


def refuse(field: str, sentence: str, hint: str | None = None) -> NoReturn:
    """Refuse a material for one of its values."""
    raise RecordError(
        f"{sentence[:1].upper()}{sentence[1:]}.", hint, reasons={field: sentence}
    ) from None


def table(values: object, field: str, known: Sequence[str]) -> Values:
    """A mapping with no other names than those known."""
    if not isinstance(values, Mapping):
        refuse(field, f"the {field} must be named values, found {values!r}")
    if strange := sorted(str(name) for name in values if name not in known):
        refuse(strange[0], f"{strange[0]!r} is not understood of a {field}")
    return values


def rows(values: Values, field: str) -> Sequence[object]:
    """A list of entries; absent means none."""
    found = values.get(field)
    if found is None:
        return ()
    if isinstance(found, str) or not isinstance(found, Sequence):
        refuse(field, f"the {field} must be a list, found {found!r}")
    return found


def text(values: Values, field: str, said: str, *, longest: int = LONGEST_TEXT) -> str | None:
    """Text without spaces around it; None where there is none."""
    value = values.get(field)
    if value is None:
        return None
    if not isinstance(value, str):
        refuse(field, f"{said} must be text, found {value!r}")
    if len(value.strip()) > longest:
        refuse(field, f"{said} is longer than {longest:,} characters")
    return value.strip() or None


def name(values: Values, field: str, said: str) -> str:
    """A name on one line, which must be there."""
    value = text(values, field, said, longest=LONGEST_NAME)
    if value is None:
        refuse(field, f"{said} is missing")
    return " ".join(value.split())


def number(
    values: Values, field: str, said: str, *, above_zero: bool = False, most: float = math.inf
) -> float | None:
    """A number that is not negative; None where there is none."""
    value = values.get(field)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        refuse(field, f"{said} must be a number, found {value!r}")
    if value < 0:
        refuse(field, f"{said} is {value:g}; it cannot be below zero")
    if above_zero and value == 0:
        refuse(field, f"{said} is 0; it must be above zero")
    if value > most:
        refuse(field, f"{said} is {value:g}; more than {most:g} cannot be")
    return float(value)


def day(values: Values, field: str, said: str) -> date | None:
    """A day, values as a date or as text such as ``2026-10-31``; None where there is none."""
    value = values.get(field)
    if value is None or type(value) is date:
        return value
    if not isinstance(value, str):
        refuse(field, f"{said} must be a day, found {value!r}", "write it as 2026-10-31")
    try:
        return date.fromisoformat(value.strip())
    except ValueError:
        refuse(field, f"{said} is {value!r}, which is no day", "write it as 2026-10-31")


def choice(values: Values, field: str, said: str, choices: ChoiceList) -> str | None:
    """A value of a closed list, in any of its spellings; None where there is none."""
    value = text(values, field, said)
    if value is None:
        return None
    meant = choices.understand(value)
    if meant is None:
        refuse(
            field,
            f"{said} is {value!r}, which is not known",
            f"use one of: {', '.join(each.label for each in choices.choices)}",
        )
    return meant
