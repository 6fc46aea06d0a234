"""What every answer can do, whichever face shows it: headline, tables, figure, JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from html import escape
from importlib import import_module
from typing import TYPE_CHECKING, Any, Generic, Protocol, TypeVar, cast

if TYPE_CHECKING:
    import plotly.graph_objects as go
    import polars as pl

    from logbook.questions.parameters import Parameters
    from logbook.questions.question import Question
    from logbook.questions.table import Section, Table
    from logbook.shop import Shop


class Result(Protocol):
    """The numbers of an answer; the rest is made of them."""

    def as_json(self) -> Mapping[str, Any]:
        """The fields that users' scripts rely on."""

    def table(self) -> pl.DataFrame:
        """The figures, tidy, with every digit."""


R = TypeVar("R", bound=Result)
R_contra = TypeVar("R_contra", contravariant=True)


class Words(Protocol[R_contra]):
    """What ``words.py`` of a question holds."""

    def title(self, result: R_contra) -> str:
        """What it is about, for a heading."""

    def headline(self, result: R_contra) -> str:
        """The answer in one or two sentences."""

    def pressing(self, result: R_contra) -> tuple[str, ...]:
        """What would mislead if it were not said beside the headline."""

    def sentences(self, result: R_contra) -> tuple[str, ...]:
        """The answer in full, a sentence a thing; further lines of one stand beneath its first."""

    def notes(self, result: R_contra) -> tuple[str, ...]:
        """What to keep in mind."""


class Tables(Protocol[R_contra]):
    """What ``tables.py`` of a question holds."""

    def tables(self, result: R_contra) -> tuple[Table, ...]:
        """The figures as people read them, most important first."""


class Figures(Protocol[R_contra]):
    """What ``figure.py`` of a question holds."""

    def draw(self, result: R_contra, *, dark: bool = False) -> go.Figure:
        """The picture of the answer."""


@dataclass(frozen=True, slots=True)
class Answer(Generic[R]):
    """One answer of a book to one question.

    Attributes
    ----------
    question, parameters
        What was asked.
    result
        The numbers.
    shop
        Whose record it is.
    """

    question: Question[Any, R]
    parameters: Parameters
    result: R
    shop: Shop = field(repr=False)

    @property
    def title(self) -> str:
        """What it is about, for a heading: ``suppliers by puckering``."""
        return self._words().title(self.result)

    @property
    def headline(self) -> str:
        """The answer in one or two sentences."""
        return self._words().headline(self.result)

    @property
    def pressing(self) -> tuple[str, ...]:
        """What would mislead if it were not said beside the headline."""
        return self._words().pressing(self.result)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The answer in full, a sentence a thing; further lines of one stand beneath its first."""
        return self._words().sentences(self.result)

    @property
    def sections(self) -> tuple[Section, ...]:
        """What stands under headings of its own; most answers have none, and no such function."""
        told: Callable[[R], tuple[Section, ...]] | None = getattr(self._words(), "sections", None)
        return () if told is None else told(self.result)

    @property
    def notes(self) -> tuple[str, ...]:
        """What to keep in mind."""
        return self._words().notes(self.result)

    @property
    def tables(self) -> tuple[Table, ...]:
        """The figures as people read them, most important first."""
        return cast("Tables[R]", self._part("tables")).tables(self.result)

    def table(self) -> pl.DataFrame:
        """The figures, tidy, with every digit."""
        return self.result.table()

    def figure(self, *, dark: bool = False) -> go.Figure | None:
        """The picture of the answer; None for a question that has none."""
        if self.question.no_figure is not None:
            return None
        return cast("Figures[R]", self._part("figure")).draw(self.result, dark=dark)

    @property
    def further_figures(self) -> tuple[Callable[..., go.Figure], ...]:
        """What draws further pictures of the result, called as ``draw`` is; most have none."""
        if self.question.no_figure is not None:
            return ()
        drawn: tuple[Callable[..., go.Figure], ...] = getattr(self._part("figure"), "FURTHER", ())
        return tuple(draw for draw in drawn if draw(self.result) is not None)

    def as_json(self) -> dict[str, Any]:
        """The fields that users' scripts rely on."""
        said = {"finding": self.headline, "notes": [*self.pressing, *self.notes]}
        return {**self.result.as_json(), **said}

    def _repr_html_(self) -> str:
        said = "".join(f"<p>{escape(each)}</p>" for each in (self.headline, *self.pressing))
        return f"<div>{said}{self.table()._repr_html_()}</div>"

    def _words(self) -> Words[R]:
        return cast("Words[R]", self._part("words"))

    def _part(self, name: str) -> Any:
        return import_module(f"{self.question.room}.{name}")
