"""One run: all that was recorded of it, in words, and how it came to stand so."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

import streamlit as st

from dashboards.css import heading
from dashboards.marks_form import can_be_marked, marks_form
from dashboards.run_entry.setup_words import setup_in_words, work_in_words
from dashboards.run_pages import correcting
from dashboards.run_pages.asked import link
from dashboards.run_pages.photos import photos
from dashboards.run_pages.words import came_from, is_held, said, said_in
from dashboards.shared import moment_words
from dashboards.showing import plain_markdown
from logbook.book.run_search import ChangedValue, Version, recorded, versions_of
from logbook.book.run_words import outcome
from logbook.runs.columns import MADE_COLUMNS, columns_with
from logbook.store import Store
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.wording import number

PARTS = {
    "Job": ("identity", "job"),
    "Fabric and backing": ("fabric", "backing"),
    "Setup": ("setup",),
    "Pieces and time": ("counts",),
    "What was seen": ("outcome",),
}
HAPPENED = {"logged": "Logged", "amended": "Corrected", "withdrawn": "Withdrawn"}


def one_run(store: Store, run_ref: str) -> None:
    """Draw the run, or say that there is none."""
    heading(f"Run {run_ref}")
    _back()
    versions = versions_of(store, run_ref)
    if not versions:
        st.info(
            f"There is no run {plain_markdown(run_ref)} in this book. The reference may be "
            "mistyped: look for a part of it in the list."
        )
        return
    last = versions[-1]
    withdrawn = last.change.what == "withdrawn"
    if withdrawn:
        st.warning(
            f"This run was withdrawn on {moment_words(last.happened_at)} and is in no count. "
            f"Why: {plain_markdown(last.change.why or 'not said')}."
        )
        correcting.tell(run_ref, "withdrawing", "correcting", "releasing")
    _summary(store, last)
    if is_held(last.change.content) and not withdrawn:
        st.error(BROKEN_NEEDLE_HELD)
        correcting.release(store, run_ref, last)
    if not withdrawn:
        correcting.tell(run_ref, "releasing")
    photos(store, run_ref)
    _recorded(store, last, _made(store, run_ref))
    _history(versions)
    if not withdrawn:
        _places(store, run_ref)
        st.subheader("Put it right")
        correcting.correct(store, run_ref, last)


def _places(store: Store, run_ref: str) -> None:
    run = store.runs(refs=[run_ref]).row(0, named=True)
    if can_be_marked(store, run):
        st.subheader("Where on the design")
        marks_form(store, run)


def _back() -> None:
    kept = {name: value for name, value in st.query_params.to_dict().items() if name != "run"}
    address = escape(link(kept or {"page": "1"}))
    st.html(f'<a class="tap" href="{address}" target="_self">← All runs</a>')


def _summary(store: Store, version: Version) -> None:
    run = version.change.content
    finished = next(
        said(each, recorded(run, each)) for each in columns_with() if each.name == "finished_at"
    )
    where = " · ".join(str(run[name]) for name in ("site", "machine") if run.get(name))
    lines = [
        f'<p class="work">{escape(finished)}{escape(f" · {where}" if where else "")}</p>',
        f"<p>{escape(work_in_words(run))}</p>",
        f"<p>{escape(setup_in_words(run))}</p>",
        f'<p class="work">{escape(outcome(run, store.shop.kinds))}</p>',
    ]
    st.html(f'<div class="setup-card">{"".join(each for each in lines if each != "<p></p>")}</div>')


def _recorded(store: Store, version: Version, made: Mapping[str, Any]) -> None:
    columns = [each for each in columns_with(store.shop.own) if each.name != "run_ref"]
    content = version.change.content
    run = {each.name: recorded(content, each) for each in columns}
    columns += [each for each in MADE_COLUMNS if each.name in made]
    run |= made
    st.subheader("Everything recorded")
    blocks = []
    kinds = {each.name for each in store.shop.kinds}
    none_seen = [each.label for each in columns if each.name in kinds and run[each.name] == 0]
    for title, parts in PARTS.items():
        told = [
            (each.label, said_in(run, each))
            for each in columns
            if each.part in parts and run[each.name] is not None and each.label not in none_seen
        ]
        after = ""
        if none_seen and "outcome" in parts:
            after = f"<p>Looked for, none seen: {escape(_listed(none_seen).lower())}.</p>"
        if told or after:
            rows = "".join(
                f"<div><dt>{escape(words)}</dt><dd>{escape(value)}</dd></div>"
                for words, value in told
            )
            blocks.append(f"<section><h3>{escape(title)}</h3><dl>{rows}</dl>{after}</section>")
    st.html(f'<div class="recorded">{"".join(blocks)}</div>')
    lacking = [each.label for each in columns if run[each.name] is None]
    if lacking:
        fields = f"{number(len(lacking))} field{'' if len(lacking) == 1 else 's'}"
        with st.expander(f"Not recorded: {fields}"):
            st.write(plain_markdown(f"{_listed(lacking)}. Not recorded is never zero."))


def _made(store: Store, run_ref: str) -> dict[str, Any]:
    """What the book makes of the run; nothing of one that was withdrawn."""
    made = store.made(refs=[run_ref])
    row = made.row(0, named=True) if made.height else {}
    return {name: row[name] for name in row if name != "run_ref" and row[name] is not None}


def _listed(labels: Sequence[str]) -> str:
    first, *others = labels
    return ", ".join([first, *(each[:1].lower() + each[1:] for each in others)])


def _history(versions: Sequence[Version]) -> None:
    st.subheader("History")
    said_versions = [_said_version(each) for each in reversed(versions)]
    st.markdown("\n".join(said_versions))


def _said_version(version: Version) -> str:
    change = version.change
    head = f" on {moment_words(version.happened_at)}, {came_from(change.source)}"
    if change.why:
        head += f". Why: {change.why}"
    lines = [f"    - {_on_one_line(_said_change(each))}" for each in version.changed]
    return "\n".join([f"- **{HAPPENED[change.what]}**{_on_one_line(head)}", *lines])


def _on_one_line(text: str) -> str:
    """What people typed over several lines must not begin a new entry of the list."""
    return plain_markdown(re.sub(r"\s*\n\s*", " / ", text))


def _said_change(changed: ChangedValue) -> str:
    was, now = said(changed.column, changed.before), said(changed.column, changed.after)
    return f"{changed.column.label}: {was} → {now}"
