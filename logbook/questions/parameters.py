"""What questions are asked with: parameters that several of them share, and how they are read.

A parameter is declared once, as a field of its question's model: type, title, description, where
its choices come from (:class:`Offered`) and what a command calls its value (:class:`Metavar`).
Commands, routes, pages and Python read that one declaration.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo, field_validator

if TYPE_CHECKING:
    from logbook.store import Store, Window
    from logbook.vocabulary.defects import DefectKind


class Parameters(BaseModel):
    """Parameters of one question; unknown ones are refused, so that no slip goes unseen."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    @classmethod
    def further(cls) -> tuple[str, ...]:
        """Columns of the run sheet that it takes besides its own fields."""
        return ()

    @classmethod
    def lacking(cls, asked: Mapping[str, Any]) -> str:
        """What has to be said before there is anything to ask; empty where nothing has."""
        del asked
        return ""


@dataclass(frozen=True, slots=True)
class Metavar:
    """What a command's help calls the value of a parameter: ``KIND``."""

    word: str


@dataclass(frozen=True, slots=True)
class Offered:
    """Which values a parameter can have in a book.

    Attributes
    ----------
    choices
        Values and how a page calls them, as the book has them now.
    unset
        How a page calls it that none is chosen; empty where one must be.
    understood
        Reads a spelling of the trade as one of the values; raises ``VocabularyError``.
    """

    choices: Callable[[Store], Mapping[str, str]]
    unset: str = ""
    understood: Callable[[Store, str], str] | None = None


def kind_of(store: Store, name: str) -> DefectKind:
    """The defect kind of that name, the shop's own and ``any`` among them."""
    from logbook.vocabulary.defects import ANY, kind  # late: not needed for --help

    return ANY if name == ANY.name else kind(name, own=store.shop.own_kinds)


def _kinds(store: Store) -> dict[str, str]:
    from logbook.vocabulary.defects import ANY  # late: as above

    return {each.name: each.label for each in (ANY, *store.shop.kinds)}


def kind_understood(store: Store, text: str) -> str:
    """The name of the kind that is meant; labels of the trade are understood too."""
    from logbook.vocabulary.defects import ANY  # late: as above

    spelled = text.casefold() in (ANY.name, ANY.label.casefold())
    return ANY.name if spelled else kind_of(store, text).name


def _backings(store: Store) -> dict[str, str]:  # noqa: ARG001 - the list is the trade's
    from logbook.vocabulary.backings import BACKINGS  # late: as above

    return {each.value: each.label for each in BACKINGS.choices if each.value != "none"}


def _backing_understood(store: Store, text: str) -> str:  # noqa: ARG001 - as above
    from logbook.errors import VocabularyError
    from logbook.vocabulary.backings import BACKINGS  # late: as above

    value = BACKINGS.understand(text)
    if value is None:
        known = ", ".join(BACKINGS.values)
        raise VocabularyError(f"backing {text!r} is not known; the backings are {known}")
    return value


def known_in(column: str) -> Callable[[Store], dict[str, str]]:
    """Offer the spellings of an open list that are in use."""
    return lambda store: {name: name for name in store.known(column)}


def _iso_day(value: Any) -> Any:
    if value is None or isinstance(value, date):
        return value
    try:
        return date.fromisoformat(str(value))
    except ValueError as cause:
        raise ValueError(f"{value!r} is not a date such as 2026-09-01") from cause


def _amount(value: Any) -> Any:
    """Read a number from nought up, with a decimal comma or point."""
    if value is None:
        return None
    try:
        number = float(str(value).replace(",", "."))
    except ValueError as cause:
        raise ValueError(f"{value!r} is not a number, such as 1 or 0.5") from cause
    if not (math.isfinite(number) and number >= 0):
        raise ValueError(f"{value} is not a number from nought up, such as 1 or 0.5")
    return number


Defect = Annotated[
    str,
    Field(
        title="Defect",
        description="A defect kind, such as puckering or thread_breaks; or any.",
    ),
    Metavar("KIND|any"),
    Offered(_kinds, understood=kind_understood),
]
Backing = Annotated[
    str | None,
    Field(title="Backing", description="One backing type only."),
    Metavar("TYPE"),
    Offered(_backings, unset="All backings", understood=_backing_understood),
]
Day = Annotated[date | None, BeforeValidator(_iso_day), Metavar("DATE")]
Amount = Annotated[
    float | None,
    BeforeValidator(_amount, json_schema_input_type=float | None),
    Field(ge=0, allow_inf_nan=False),
]
Site = Annotated[
    str | None,
    Field(title="Site", description="One site only."),
    Metavar("NAME"),
    Offered(known_in("site"), unset="Every site"),
]


class InWindow(Parameters):
    """A question about some days and one site."""

    since: Annotated[Day, Field(title="From", description="First day, such as 2026-09-01.")] = None
    until: Annotated[Day, Field(title="To", description="Last day, included.")] = None
    site: Site = None

    @field_validator("until")
    @classmethod
    def _in_order(cls, until: date | None, told: ValidationInfo) -> date | None:
        since = told.data.get("since")
        if since and until and since > until:
            raise ValueError(f"{until} lies before since {since}")
        return until

    def window(self, **where: str | None) -> Window:
        """The runs that are asked about; ``where`` names values of columns, None for any."""
        from logbook.store.interface import Window  # late: not needed for --help

        wanted = {name: value for name, value in where.items() if value is not None}
        return Window(since=self.since, until=self.until, site=self.site, where=wanted)


def offered_of(model: type[BaseModel], name: str) -> Offered | None:
    """Where the choices of a parameter come from; None where it has none."""
    return next((e for e in model.model_fields[name].metadata if isinstance(e, Offered)), None)


def metavar_of(model: type[BaseModel], name: str) -> str:
    """What a command's help calls the value of a parameter."""
    found = (e.word for e in model.model_fields[name].metadata if isinstance(e, Metavar))
    return next(found, name.upper())


def in_order(model: type[BaseModel]) -> tuple[str, ...]:
    """A question's own parameters first, then those of the days and the site."""
    shared = [name for name in model.model_fields if name in InWindow.model_fields]
    return (*(name for name in model.model_fields if name not in shared), *shared)
