"""The list of runs: a table where there is room for one, cards on a phone."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any

import streamlit as st

from dashboards.run_pages.asked import Asked, link
from dashboards.run_pages.words import is_held
from dashboards.shared import moment_words
from logbook.book.run_search import FoundRuns
from logbook.book.run_words import outcome
from logbook.store import Store
from logbook.vocabulary.backings import BACKINGS
from logbook.wording import number

HEADINGS = ("Finished", "Run", "What was sewn", "With", "Pieces", "What was counted")


def listing(store: Store, found: FoundRuns, asked: Asked) -> None:
    """Say how many there are, then write those of this page."""
    if not found.total:
        _nothing(asked)
        return
    st.markdown(_how_many(found, asked))
    head = "".join(f'<th scope="col" role="columnheader">{each}</th>' for each in HEADINGS)
    rows = "".join(_row(store, run, found, asked) for run in found.runs.iter_rows(named=True))
    st.html(
        '<table class="runs" role="table"><caption>Runs, the last finished first</caption>'
        f'<thead><tr role="row">{head}</tr></thead><tbody>{rows}</tbody></table>'
    )
    _pages(found, asked)


def _how_many(found: FoundRuns, asked: Asked) -> str:
    if found.total == 1:
        return "One run." if not asked.narrowed else "One run matches."
    said = f"{number(found.total)} runs{' match' if asked.narrowed else ''}, newest first"
    if found.pages > 1:
        said += f"; page {number(found.page)} of {number(found.pages)}"
    return f"{said}."


def _nothing(asked: Asked) -> None:
    words = "No run matches."
    if asked.find:
        words += (
            " Every word must be in the run's reference, its names (job, design, thread, fabric, "
            "supplier, lot, site, machine, operator) or its notes; a part of a word is enough."
        )
    st.info(words)
    st.html(f'<a class="tap" href="{link({"page": "1"})}" target="_self">Show all runs</a>')


def _row(store: Store, run: Mapping[str, Any], found: FoundRuns, asked: Asked) -> str:
    held = '<strong class="held">Held</strong> ' if is_held(run) else ""
    told = asked.in_address() | ({"page": str(found.page)} if found.page > 1 else {})
    address = escape(link(told | {"run": run["run_ref"]}), quote=True)
    reference = f'<a href="{address}" target="_self">{escape(run["run_ref"])}</a>'
    cells = (
        ("when", escape(moment_words(run["finished_at"]))),
        ("ref", f"{held}{reference}"),
        ("what", escape(_joined(run, "job", "design", "fabric"))),
        ("with", escape(_with(run))),
        ("pieces", escape(_pieces(run))),
        ("counted", escape(outcome(run, store.shop.kinds))),
    )
    return (
        '<tr role="row">'
        + "".join(f'<td role="cell" class="{name}">{words}</td>' for name, words in cells)
        + "</tr>"
    )


def _joined(run: Mapping[str, Any], *names: str) -> str:
    return " · ".join(str(run[name]) for name in names if run[name])


def _with(run: Mapping[str, Any]) -> str:
    backing = "" if run["backing"] is None else BACKINGS.label_of(run["backing"])
    who = _joined(run, "machine", "operator")
    return " · ".join(part for part in (who, backing) if part)


def _pieces(run: Mapping[str, Any]) -> str:
    pieces = run["pieces_inspected"] if run["pieces_sewn"] is None else run["pieces_sewn"]
    if pieces is None:
        return ""
    return f"{number(pieces)} piece{'' if pieces == 1 else 's'}"


def _pages(found: FoundRuns, asked: Asked) -> None:
    if found.pages < 2:
        return
    steps = (("Newer runs", found.page - 1), ("Older runs", found.page + 1))
    links = "".join(
        f'<a class="tap" href="{escape(link(asked.in_address() | {"page": str(page)}))}" '
        f'target="_self">{words}</a>'
        for words, page in steps
        if 1 <= page <= found.pages
    )
    st.html(f'<nav class="steps" aria-label="Pages of the list">{links}</nav>')
