"""A page of any question, made of its one declaration: what is asked, the answer, the evidence."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import cycle
from typing import Any, Literal, get_args, get_origin

import streamlit as st
from pydantic_core import PydanticUndefined
from streamlit.delta_generator import DeltaGenerator

from dashboards.css import heading
from dashboards.narrowing import Narrowing, answering, narrowing_asked
from dashboards.remembered import answer_of
from dashboards.shared import book
from dashboards.showing import empty_book, plain_markdown, remembered, show_figure
from dashboards.tables import download_figures
from logbook.questions import QUESTIONS
from logbook.questions.answer import Answer
from logbook.questions.parameters import InWindow, in_order, offered_of
from logbook.questions.question import Question
from logbook.report.tables import table_html
from logbook.runs.columns import COLUMNS, Column
from logbook.store import Store

ACROSS = 3
"""So many fields stand in one row."""
UNSET = ""
FIELD_PIXELS = 416
USUAL = "As usual"


def show(question: Question[Any, Any]) -> None:
    """Draw the page: fields, then headline, figure, tables and what to keep in mind."""
    heading(question.title)
    store = book()
    if not store.count():
        empty_book(question.when_empty)
        st.stop()
    answer, narrowing = asked_and_answered(question, store)
    for section in answer.sections:
        if section.alarm:
            st.error(plain_markdown("  ".join((section.heading, *section.lines))))
    st.markdown(f"##### {plain_markdown(answer.headline)}")
    for warning in answer.pressing:
        st.warning(plain_markdown(warning))
    figure_of(answer, narrowing)
    if answer.sentences:
        st.markdown("\n".join(map(_listed, answer.sentences)))
    tables_of(answer, narrowing)
    sections_of(answer)
    notes_of(answer)


def asked_and_answered(question: Question[Any, Any], store: Store) -> tuple[Answer[Any], Narrowing]:
    """Draw the fields, and answer what they say; what is narrowed to stands above the answer."""
    asked, narrowing = parameters_asked(question, store)
    if says := question.parameters.lacking(asked):
        st.info(plain_markdown(says))
        st.stop()
    with answering(narrowing, question.waiting):
        answer = answer_of(answered, store, name=question.name, asked=tuple(asked.items()))
    return answer, narrowing


def answered(store: Store, *, name: str, asked: tuple[tuple[str, Any], ...]) -> Answer[Any]:
    """Ask a question with plain values, which can be remembered."""
    return QUESTIONS[name].asked(store, **dict(asked))


def parameters_asked(
    question: Question[Any, Any], store: Store
) -> tuple[dict[str, Any], Narrowing]:
    """Draw the fields, filled with what the address says, and keep what is chosen there."""
    model = question.parameters
    own = [name for name in in_order(model) if name not in InWindow.model_fields]
    asked: dict[str, Any] = {}
    for start in range(0, len(own), ACROSS):
        row = own[start : start + ACROSS]
        # An empty column beside a single field would be an empty line on a phone.
        places = st.columns(ACROSS) if len(row) > 1 else [st.container(width=FIELD_PIXELS)]
        for name, place in zip(row, places, strict=False):
            value = _field(question, store, name, place)
            if value not in (None, UNSET):
                asked[name] = value
    asked |= _further_asked(question, store)
    narrowing = Narrowing()
    if issubclass(model, InWindow):
        narrowing = narrowing_asked(store, page=question.name)
    st.query_params.from_dict({name: str(v) for name, v in asked.items()} | narrowing.in_address())
    return asked | narrowing.in_address(), narrowing


def figure_of(answer: Answer[Any], narrowing: Narrowing) -> None:
    """Draw the picture, where the question has one, and what further ones it has."""
    if answer.question.no_figure is None:
        show_figure(_drawn, answer, key=file_name(answer, narrowing))
    for place, draw in enumerate(answer.further_figures, 2):
        show_figure(draw, answer.result, key=f"{file_name(answer, narrowing)}-{place}")


def tables_of(answer: Answer[Any], narrowing: Narrowing) -> None:
    """Write every table, evidence folded, and offer the figures with every digit."""
    for each in answer.tables:
        if each.rows and not each.folded:
            st.html(table_html(each, linked=True))
    evidence_of(answer, narrowing)


def evidence_of(answer: Answer[Any], narrowing: Narrowing) -> None:
    """Open folded tables on demand, and offer the figures with every digit."""
    for each in answer.tables:
        if each.rows and each.folded:
            with st.expander(plain_markdown(each.caption)):
                st.html(table_html(each, linked=True))
    if any(each.rows for each in answer.tables):
        download_figures(answer.table(), name=file_name(answer, narrowing))


def sections_of(answer: Answer[Any]) -> None:
    """Write what stands under headings of its own, advice never without its cautions."""
    for section in answer.sections:
        if section.alarm:
            continue
        st.subheader(section.heading)
        st.markdown("\n".join(f"- {plain_markdown(line)}" for line in section.lines))
        for caution in section.cautions:
            st.warning(plain_markdown(caution))
        if section.note:
            st.caption(plain_markdown(section.note))


def notes_of(answer: Answer[Any]) -> None:
    """Open what to keep in mind on demand."""
    if answer.notes:
        with st.expander("What to keep in mind"):
            for note in answer.notes:
                st.markdown(plain_markdown(note))


def _listed(sentence: str) -> str:
    first, *beneath = map(plain_markdown, sentence.split("\n"))
    return "\n".join((f"- {first}", *(f"    - {line}" for line in beneath)))


def file_name(answer: Answer[Any], narrowing: Narrowing) -> str:
    """Name a file of the answer: ``suppliers-puckering-since-2026-03-01``."""
    about = getattr(answer.parameters, "defect", None)
    return narrowing.file_name("-".join(filter(None, (answer.question.name, about))))


def _drawn(answer: Answer[Any], *, dark: bool) -> Any:
    return answer.figure(dark=dark)


def _field(
    question: Question[Any, Any], store: Store, name: str, place: DeltaGenerator
) -> str | None:
    """Draw the field of one parameter: a list where there are choices, else a line to type in."""
    field = question.parameters.model_fields[name]
    label, key = field.title or name, f"{question.name}-{name}"
    choices = _choices(question, store, name)
    if choices is None:
        typed = place.text_input(
            label, value=st.query_params.get(name, ""), key=key, help=field.description
        )
        return typed.strip() or None
    default = "" if field.default in (None, PydanticUndefined) else str(field.default)
    names = list(choices)
    start = name if name in st.query_params else None
    index = remembered(name, names) if start else names.index(default) if default in names else 0
    return place.selectbox(
        label,
        names,
        format_func=lambda value: choices[value],
        index=index,
        key=key,
        help=field.description,
    )


def _further_asked(question: Question[Any, Any], store: Store) -> dict[str, Any]:
    """Draw what else a setup can be told by, folded: what is left as usual is not told."""
    names = set(question.parameters.further()) - set(question.parameters.model_fields)
    offered = {
        column: {UNSET: USUAL, **values}
        for column in COLUMNS
        if column.name in names and (values := _values(store, column))
    }
    if not offered:
        return {}
    told: dict[str, Any] = {}
    with st.expander(
        "The setup now, where it is not your usual one",
        expanded=any(column.name in st.query_params for column in offered),
    ):
        places = cycle(st.columns(ACROSS))
        for column, choices in offered.items():
            chosen = next(places).selectbox(
                column.label,
                list(choices),
                index=remembered(column.name, list(choices)),
                format_func=choices.__getitem__,
                key=f"{question.name}-{column.name}",
            )
            if chosen != UNSET:
                told[column.name] = chosen
    return told


def _values(store: Store, column: Column) -> dict[str, str]:
    """The values of a closed list, or those of an open one that are in use."""
    if column.choices is not None:
        return {each.value: each.label for each in column.choices.choices}
    return {name: name for name in store.known(column.name)} if column.open_list else {}


def _choices(question: Question[Any, Any], store: Store, name: str) -> Mapping[str, str] | None:
    """Values and labels; None where anything can be typed."""
    field = question.parameters.model_fields[name]
    if get_origin(field.annotation) is Literal:
        return {each: str(each).capitalize() for each in get_args(field.annotation)}
    offered = offered_of(question.parameters, name)
    if offered is None:
        return None
    unset = {UNSET: offered.unset} if offered.unset else {}
    return {**unset, **offered.choices(store)}
