"""What one declaration of a question makes: parameters read, answers held to their schema."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import jsonschema
import pytest
from small_shop import small_book

from logbook.errors import ParameterError, TooLittleData
from logbook.questions import QUESTIONS
from logbook.questions.answer import Answer
from logbook.questions.parameters import InWindow, in_order, offered_of
from logbook.questions.question import Question
from logbook.report import answer_page
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

EVERY = pytest.mark.parametrize("question", QUESTIONS.values(), ids=list(QUESTIONS))
ANYTHING = "twill"
MARKED = {"breaks", "places"}
FOLLOWED = {"trace": {"of": "backing=cut_away"}, "forecast": {"pieces": 200}}
"""What cannot be asked of nothing."""


def asked_of(question: Question[Any, Any], book: DuckStore | None = None) -> dict[str, Any]:
    """What the question must be asked with: the first choice that the book offers."""
    asked: dict[str, Any] = dict(FOLLOWED.get(question.name, {}))
    for name, field in question.parameters.model_fields.items():
        offered = offered_of(question.parameters, name)
        if field.is_required() and name not in asked:
            asked[name] = next(iter(offered.choices(book))) if book and offered else ANYTHING
    return asked


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    with small_book(tmp_path_factory.mktemp("declared") / "book") as store:
        yield store


@EVERY
def test_every_parameter_is_titled_and_described(question: Question[Any, Any]) -> None:
    fields = question.parameters.model_fields
    assert [name for name, field in fields.items() if not (field.title and field.description)] == []
    assert question.help.endswith(".")
    assert question.asks.endswith("?")


@EVERY
def test_its_own_parameters_come_before_the_days(question: Question[Any, Any]) -> None:
    shared = [name in InWindow.model_fields for name in in_order(question.parameters)]
    assert shared == sorted(shared)


@EVERY
def test_an_empty_book_has_too_little(question: Question[Any, Any], tmp_path: Any) -> None:
    with new_book(str(tmp_path / "book")) as store:
        if question.answers_empty:
            assert question.asked(store, **asked_of(question)).headline.startswith("No runs")
            return
        with pytest.raises(TooLittleData, match="no runs"):
            question.asked(store, **asked_of(question))


@pytest.fixture
def answer(question: Question[Any, Any], book: DuckStore, year: DuckStore) -> Answer[Any]:
    """What a small book says, or the sample year of places, which the small one has none of."""
    asked = year if question.name in MARKED else book
    return question.answer(asked, question.parsed(asked_of(question, asked)))


@EVERY
def test_an_answer_is_as_its_schema_says(question: Question[Any, Any], answer: Answer[Any]) -> None:
    told = answer.as_json()
    schema = question.answer_schema()
    schema["components"] = {"schemas": schema.pop("$defs")}
    jsonschema.validate(told, schema)
    assert set(told) == set(schema["properties"]) - _left_out(schema)
    assert answer.headline == told["finding"]


def _left_out(schema: dict[str, Any]) -> set[str]:
    return set(schema["properties"]) - set(schema["required"])


@EVERY
def test_an_answer_can_be_shown(question: Question[Any, Any], answer: Answer[Any]) -> None:
    assert answer.title
    assert answer.table().width > 0
    assert (answer.figure() is None) == (question.no_figure is not None)
    assert "<table" in answer._repr_html_()


@EVERY
def test_its_page_draws_its_figure(question: Question[Any, Any], answer: Answer[Any]) -> None:
    page = answer_page(answer)
    assert "cannot be drawn here" not in page
    if question.no_figure is None:
        assert page.count("<svg viewBox") >= 2, "for the page's width, and for a phone"


@EVERY
def test_strange_parameters_are_refused(question: Question[Any, Any]) -> None:
    given = {**asked_of(question), "since": "yesterday"}
    with pytest.raises(ParameterError) as refused:
        question.parsed(given)
    assert "since" in refused.value.reasons


def test_spellings_of_the_trade_are_understood(book: DuckStore) -> None:
    question = QUESTIONS["chart"]
    answer = question.answer(book, question.parsed({"defect": "Puckering"}))
    assert answer.result.kind.name == "puckering"
    with pytest.raises(ParameterError, match="There is no defect kind") as refused:
        question.answer(book, question.parsed({"defect": "sunshine"}))
    assert set(refused.value.reasons) == {"defect"}


def test_days_the_wrong_way_round_are_refused() -> None:
    given = {"defect": "gaps", "since": "2026-03-01", "until": "2026-02-01"}
    with pytest.raises(ParameterError, match="until 2026-02-01 lies before since 2026-03-01"):
        QUESTIONS["chart"].parsed(given)


def test_choices_come_from_the_book(book: DuckStore) -> None:
    offered = offered_of(QUESTIONS["chart"].parameters, "defect")
    assert offered is not None
    assert list(offered.choices(book))[:2] == ["any", "puckering"]
