"""Answers that pages remember until the book changes: asking anew would tell the same."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import streamlit as st

from logbook.book.runs import now_at
from logbook.service import the_book
from logbook.store import Store

Answer = TypeVar("Answer")
MOST = 64


def answer_of(question: Callable[..., Answer], store: Store, **asked: Any) -> Answer:
    """Ask the book, or say again what it answered since nothing was changed.

    Parameters
    ----------
    question
        Takes the store and what is asked, by name; answers with something that nobody changes.
    store
        The open book.
    asked
        Plain values.
    """
    book = the_book()
    # Prices begin on days: tomorrow the answer may be another.
    stamp = f"{id(book)} {book.changes} {now_at(store).date()}"
    name = f"{question.__module__}.{question.__name__}"
    answer: Answer = _asked(question, store, name, stamp, tuple(sorted(asked.items())))
    return answer


@st.cache_resource(max_entries=MOST, show_spinner=False)
def _asked(
    _question: Callable[..., Any],
    _store: Store,
    name: str,  # noqa: ARG001 - with the stamp it tells answers apart
    stamp: str,  # noqa: ARG001
    asked: tuple[tuple[str, Any], ...],
) -> Any:
    return _question(_store, **dict(asked))
