"""The list of runs: a table where there is room for one, cards on a phone."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any

import streamlit as st

from dashboards.run_pages.asked import Asked, link
from dashboards.run_pages.words import is_held, outcome
from dashboards.shared import moment_words
from logbook.book.run_search import FoundRuns
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
        f"<style>{RULES}</style>"
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
    st.html(f"<style>{RULES}</style>")


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


RULES = """
.runs { width: 100%; border-collapse: collapse; color: var(--ink); font-size: 0.95rem; }
.runs caption { position: absolute; width: 1px; height: 1px; overflow: hidden;
  clip-path: inset(50%); }
.runs th, .runs td { text-align: left; vertical-align: top; padding: 0.55rem 0.9rem 0.55rem 0;
  border-bottom: 1px solid var(--rule); font-weight: 400; }
.runs thead th { font-weight: 600; border-bottom: 2px solid var(--ink); }
.runs tbody tr { position: relative; }
.runs tbody tr:hover { background: var(--card); }
.runs .when, .runs .pieces { white-space: nowrap; }
.runs .ref { min-width: 7rem; }
.runs .ref a { color: var(--thread); font-weight: 650; overflow-wrap: anywhere; }
.runs .ref a::after { content: ""; position: absolute; inset: 0; }
.runs .held { color: var(--alarm); font-weight: 700; }
.steps { display: flex; gap: 0.75rem; flex-wrap: wrap; }
a.tap { display: inline-flex; align-items: center; min-height: 48px; padding: 0 1rem;
  color: var(--ink); border: 1px solid var(--rule); border-radius: 0.5rem; text-decoration: none; }
a.tap:hover { border-color: var(--thread); color: var(--thread); }
@media (max-width: 900px) {
  .runs, .runs tbody, .runs tr, .runs td { display: block; }
  .runs thead { position: absolute; width: 1px; height: 1px; overflow: hidden;
    clip-path: inset(50%); }
  .runs tbody tr { border: 1px solid var(--rule); border-radius: 0.6rem; padding: 0.6rem 0.8rem;
    margin-bottom: 0.6rem; background: var(--card); display: grid;
    grid-template-columns: 1fr auto; gap: 0.1rem 0.8rem; }
  .runs td { border: 0; padding: 0; overflow-wrap: anywhere; }
  .runs td:empty { display: none; }
  .runs .ref { order: -1; }
  .runs .when { order: -2; grid-column: 1 / -1; font-size: 0.85rem; }
  .runs .pieces { order: -1; text-align: right; }
  .runs .what, .runs .with, .runs .counted { grid-column: 1 / -1; }
  .runs .with { font-size: 0.85rem; }
  .runs .counted { font-weight: 600; }
}
"""
