"""What is looked for, as the fields and the address of the page say it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TypeAlias
from urllib.parse import urlencode

import streamlit as st

from dashboards.narrowing import ALL_RUNS, CROSSED, NAMES, Narrowing, days_asked, site_asked
from dashboards.showing import remembered
from logbook.book.run_search import words_of
from logbook.runs.factors import FACTORS, factor_label, level_label, level_order
from logbook.store import Store, Window
from logbook.vocabulary import ANY

EVERY = ""
Level: TypeAlias = str | float | bool
COLUMNS = tuple(
    each.column
    for each in FACTORS
    if each.column != "site" and (not each.bands or not each.of.groupable)
)
"""What the runs can be narrowed to one value of."""
NARROWERS = (*NAMES, "showing", "held", "photos", *COLUMNS)


@dataclass(frozen=True, slots=True)
class Asked:
    """Which runs are looked for."""

    find: str = ""
    narrowing: Narrowing = ALL_RUNS
    showing: str = EVERY
    held: bool = False
    photos: bool = False
    where: Mapping[str, Level] = field(default_factory=dict)

    @property
    def narrowed(self) -> bool:
        """Whether anything at all is asked for."""
        return self != Asked()

    def window(self) -> Window:
        """The same as the store is asked it."""
        return replace(
            self.narrowing.window(),
            words=words_of(self.find),
            showing=self.showing or None,
            held=self.held,
            where=self.where,
        )

    def in_address(self) -> dict[str, str]:
        """What the address keeps, so that the view can be sent to a colleague."""
        said = {
            "find": self.find.strip(),
            **self.narrowing.in_address(),
            "showing": self.showing,
            "held": "yes" if self.held else "",
            "photos": "yes" if self.photos else "",
            **{name: _in_address(level) for name, level in self.where.items()},
        }
        return {name: value for name, value in said.items() if value}


def asked_for(store: Store) -> Asked:
    """Draw the fields, filled with what the address says."""
    find = st.text_input(
        "Find runs",
        value=st.query_params.get("find", ""),
        key="runs-find",
        placeholder="Reference, job, design, fabric, lot, machine, operator, words of the notes",
    )
    narrowed = any(name in st.query_params for name in NARROWERS)
    with st.expander("Narrow down: days, site, defect, held runs", expanded=narrowed):
        narrowing, showing = _kinds_of_runs(store)
        where = _one_of_each(store)
        held = _only("Only runs that are held", "held")
        photos = _only("Only runs with photos", "photos")
    return Asked(find.strip(), narrowing, showing, held, photos, where)


def shown_page() -> int:
    """The page of the list that the address names."""
    told = st.query_params.get("page", "")
    return int(told) if told.isdecimal() and len(told) < 9 else 1


def link(told: Mapping[str, str]) -> str:
    """The address of this page with these words."""
    return f"?{urlencode(told)}"


def _only(words: str, name: str) -> bool:
    return st.checkbox(words, value=st.query_params.get(name) == "yes", key=f"runs-{name}")


def _one_of_each(store: Store) -> dict[str, Level]:
    """Ask for columns, and for one value of each in use."""
    columns = st.multiselect(
        "Only one lot, needle, fabric …",
        COLUMNS,
        default=[name for name in COLUMNS if name in st.query_params],
        format_func=factor_label,
        key="runs-columns",
        placeholder="Choose what to narrow down to one of",
    )
    asked = {name: _one_of(store, name) for name in columns}
    return {name: level for name, level in asked.items() if level is not None}


def _one_of(store: Store, name: str) -> Level | None:
    used = store.totals(by=(name,))[name].drop_nulls().to_list()
    levels: list[Level] = sorted(used, key=lambda level: level_order(name, str(level)))
    told = [_in_address(level) for level in levels]
    asked = st.query_params.get(name)
    return st.selectbox(
        factor_label(name),
        levels,
        index=told.index(asked) if asked in told else None,
        format_func=partial(level_label, name),
        key=f"runs-{name}",
        placeholder="any",
    )


def _in_address(level: Level) -> str:
    return (
        str(level).lower()
        if isinstance(level, bool)
        else f"{level:.10g}"
        if isinstance(level, float)
        else str(level)
    )


def _kinds_of_runs(store: Store) -> tuple[Narrowing, str]:
    since, until = days_asked(*st.columns(2), page="runs")
    first, second = st.columns(2)
    narrowing = Narrowing(since, until, site_asked(store, first, page="runs"))
    if narrowing.crossed:
        st.info(CROSSED)
    kinds = {EVERY: "Whatever it showed", ANY.name: ANY.label}
    kinds |= {each.name: each.label for each in store.shop.kinds}
    showing = second.selectbox(
        "Showed",
        list(kinds),
        index=remembered("showing", list(kinds)),
        format_func=kinds.__getitem__,
        key="runs-showing",
    )
    return narrowing, str(showing)
