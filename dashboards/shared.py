"""What every page needs: the door to the book, plain words for errors and for values."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime
from typing import Any

import streamlit as st

from dashboards.showing import plain_markdown
from logbook.errors import AnalysisError, LogbookError, NoBook
from logbook.runs.columns import Column, columns_with
from logbook.service import the_book
from logbook.service.access.credentials import Role
from logbook.service.state import the_access
from logbook.store import Store
from logbook.vocabulary import ANY, DefectKind, kind
from logbook.vocabulary.own_columns import Own
from logbook.wording import number


def book() -> Store:
    """Return the open book of this process."""
    return the_book()


def role() -> Role | None:
    """Say whose rights this browser has; None where its session has ended.

    Asked anew each time a page is drawn, of the cookie alone: no header is trusted.
    """
    access = the_access()
    # Without passcodes there are no sessions, and on this computer everyone is a reviewer.
    cookies = st.context.cookies.to_dict() if access.asks_browsers() else {}
    visitor = access.visitor(cookies)
    return None if visitor is None else visitor.role


def for_reviewers(what: str) -> bool:
    """Whether this browser may; where not, say plainly who may.

    Parameters
    ----------
    what
        As a sentence begins: ``Correcting a run``.
    """
    if role() == "reviewer":
        return True
    st.info(f"{what} is for reviewers. [Sign in with the reviewers' passcode](/sign-in).")
    return False


def require_sign_in() -> None:
    """Draw nothing further for a browser whose session has ended."""
    if role() is None:
        st.info("You are not signed in any more. [Sign in](/sign-in) to go on.")
        st.stop()


def signed_in() -> None:
    """Name the role that is signed in, with the way out; nothing where nobody has to."""
    if the_access().asks_browsers():
        words = f"Signed in as {role()} · sign out"
        st.html(f'<a class="signed-in" href="/sign-in" target="_self">{words}</a>')


def explain(error: LogbookError) -> None:
    """Show an error of ours as plain words: what was found, and what to do.

    An answer that cannot be given yet is a finding, not a fault, and looks like one.
    """
    said = [error.message] if error.hint is None else [error.message, _sentence(error.hint)]
    words = "\n\n".join(map(plain_markdown, said))
    if isinstance(error, AnalysisError | NoBook):
        st.info(words)
    else:
        st.error(words)


@contextmanager
def plainly() -> Iterator[None]:
    """Say our own errors in words instead of breaking the page."""
    try:
        yield
    except LogbookError as error:
        explain(error)


def kind_label(name: str, own: Sequence[DefectKind] = ()) -> str:
    """Name a defect kind as people read it."""
    return ANY.label if name == ANY.name else kind(name, own).label


def column_of(name: str, own: Sequence[Own] = ()) -> Column:
    """Find a column of the run sheet by its name."""
    return next(column for column in columns_with(own) if column.name == name)


def value_words(column: Column, value: Any) -> str:
    """Say a recorded value with its unit, closed lists by their labels."""
    if value is None:
        return "not recorded"
    if column.choices is not None:
        return column.choices.label_of(value)
    if isinstance(value, bool):
        return "Yes" if value else "No"
    if isinstance(value, datetime):
        return moment_words(value)
    if isinstance(value, int | float):
        return f"{number(value)} {column.unit}" if column.unit else number(value)
    return str(value)


def day_words(day: date) -> str:
    """Say a day: ``Mon 5 Oct 2026``."""
    return f"{day:%a} {day.day} {day:%b %Y}"


def moment_words(moment: datetime) -> str:
    """Say a moment: ``Mon 5 Oct 2026, 14:30``."""
    return f"{day_words(moment)}, {moment:%H:%M}"


def _sentence(hint: str) -> str:
    return hint[:1].upper() + hint[1:] + ("" if hint.endswith((".", "…", ")", "?")) else ".")
