"""What is looked for, as the fields and the address of the page say it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from urllib.parse import urlencode

import streamlit as st

from dashboards.narrowing import ALL_RUNS, CROSSED, NAMES, Narrowing, days_asked, site_asked
from dashboards.shared import explain
from dashboards.showing import remembered
from logbook.book.run_search import filters, filters_from, words_of
from logbook.cells import PERIODS
from logbook.errors import RecordError
from logbook.runs.address import Level, told_level
from logbook.runs.factors import NOT_RECORDED, factor_label, factors_with, level_label, level_order
from logbook.store import Store, Window
from logbook.vocabulary import ANY

EVERY = ""


def columns_of(store: Store) -> tuple[str, ...]:
    """What the runs can be narrowed to one value of."""
    return tuple(
        each.column
        for each in factors_with(store.shop.own)
        if each.column != "site" and (not each.bands or not each.of.groupable)
    )


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
        }
        told = {name: told_level(level) for name, level in self.where.items()}
        return {name: value for name, value in said.items() if value} | told


def asked_for(store: Store) -> Asked:
    """Draw the fields, filled with what the address says."""
    find = st.text_input(
        "Find runs",
        value=st.query_params.get("find", ""),
        key="runs-find",
        placeholder="Reference, job, design, fabric, lot, machine, operator, words of the notes",
    )
    addressed = _addressed(store)
    narrowers = (*NAMES, "showing", "held", "photos", *addressed)
    narrowed = any(name in st.query_params for name in narrowers)
    with st.expander("Narrow down: days, site, defect, held runs", expanded=narrowed):
        narrowing, showing = _kinds_of_runs(store)
        where = _one_of_each(store, addressed)
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
    return st.checkbox(
        words, value=st.query_params.get(name) in ("yes", "true"), key=f"runs-{name}"
    )


def _addressed(store: Store) -> dict[str, Level]:
    """What the address asks of columns; what it cannot ask is said."""
    known = (*filters(store.shop), *PERIODS)
    told = {
        name: value
        for name, value in st.query_params.to_dict().items()
        if name in known and name not in NAMES
    }
    try:
        return filters_from(store, told)
    except RecordError as problem:
        explain(problem)
        return {name: value for name, value in told.items() if name not in problem.reasons}


def _one_of_each(store: Store, addressed: Mapping[str, Level]) -> dict[str, Level]:
    """Ask for columns, and for one value of each in use."""
    usual = columns_of(store)
    offered = (*usual, *(name for name in addressed if name not in usual))
    columns = st.multiselect(
        "Only one lot, needle, fabric …",
        offered,
        default=list(addressed),
        format_func=partial(_label, store),
        key="runs-columns",
        placeholder="Choose what to narrow down to one of",
    )
    asked = {name: _one_of(store, name, addressed) for name in columns}
    return {
        name: None if level == NOT_RECORDED else level
        for name, level in asked.items()
        if level is not None
    }


def _label(store: Store, name: str) -> str:
    found = filters(store.shop).get(name)
    return factor_label(name) if found is None else found.label


def _one_of(store: Store, name: str, addressed: Mapping[str, Level]) -> Level:
    """Ask for one value; what the address says stands among those in use, if no run has it."""
    used = store.totals(by=(name,))[name].to_list() if name in columns_of(store) else []
    levels = sorted((_shown(each) for each in used), key=lambda each: level_order(name, str(each)))
    asked = _shown(addressed[name]) if name in addressed else None
    if asked is not None and asked not in levels:
        levels.append(asked)
    return st.selectbox(
        _label(store, name),
        levels,
        index=None if asked is None else levels.index(asked),
        format_func=partial(level_label, name),
        key=f"runs-{name}",
        placeholder="any",
    )


def _shown(level: Level) -> str | float | bool:
    return NOT_RECORDED if level is None else level


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
