"""What is looked for, as the fields and the address of the page say it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

import streamlit as st

from dashboards.showing import remembered
from logbook.answers.finding_runs import words_of
from logbook.store import Store, Window
from logbook.vocabulary import ANY

EVERY = ""
FILTERS = ("find", "since", "until", "site", "showing", "held", "photos")


@dataclass(frozen=True, slots=True)
class Asked:
    """Which runs are looked for."""

    find: str = ""
    since: date | None = None
    until: date | None = None
    site: str = EVERY
    showing: str = EVERY
    held: bool = False
    photos: bool = False

    @property
    def narrowed(self) -> bool:
        """Whether anything at all is asked for."""
        return self != Asked()

    def window(self) -> Window:
        """The same as the store is asked it."""
        return Window(
            since=self.since,
            until=self.until,
            site=self.site or None,
            words=words_of(self.find),
            showing=self.showing or None,
            held=self.held,
        )

    def in_address(self) -> dict[str, str]:
        """What the address keeps, so that the view can be sent to a colleague."""
        said = {
            "find": self.find.strip(),
            "since": self.since.isoformat() if self.since else "",
            "until": self.until.isoformat() if self.until else "",
            "site": self.site,
            "showing": self.showing,
            "held": "yes" if self.held else "",
            "photos": "yes" if self.photos else "",
        }
        return {name: value for name, value in said.items() if value}


def asked_for(store: Store) -> Asked:
    """Draw the fields, filled with what the address says."""
    find = st.text_input(
        "Find runs",
        value=st.query_params.get("find", ""),
        key="runs-find",
        placeholder="Reference, job, design, fabric, machine, operator, words of the notes",
    )
    narrowed = any(name in st.query_params for name in FILTERS[1:])
    with st.expander("Narrow down: days, site, defect, held runs", expanded=narrowed):
        since, until = _days()
        site, showing = _kinds_of_runs(store)
        held = _only("Only runs that are held", "held")
        photos = _only("Only runs with photos", "photos")
    return Asked(find.strip(), since, until, site, showing, held, photos)


def shown_page() -> int:
    """The page of the list that the address names."""
    told = st.query_params.get("page", "")
    return int(told) if told.isdecimal() and len(told) < 9 else 1


def link(told: Mapping[str, str]) -> str:
    """The address of this page with these words."""
    return f"?{urlencode(told)}"


def _days() -> tuple[date | None, date | None]:
    first, second = st.columns(2)
    since = first.date_input(
        "From",
        value=_day("since"),
        key="runs-since",
        format="DD/MM/YYYY",
        min_value=date(1990, 1, 1),
    )
    until = second.date_input(
        "To", value=_day("until"), key="runs-until", format="DD/MM/YYYY", min_value=date(1990, 1, 1)
    )
    if since and until and since > until:
        st.info("The first day lies after the last one: no run can be between them.")
    return since, until


def _only(words: str, name: str) -> bool:
    return st.checkbox(words, value=st.query_params.get(name) == "yes", key=f"runs-{name}")


def _kinds_of_runs(store: Store) -> tuple[str, str]:
    first, second = st.columns(2)
    sites = [EVERY, *store.known("site")]
    site = EVERY
    if len(sites) > 1:
        site = first.selectbox(
            "Site",
            sites,
            index=remembered("site", sites),
            format_func=lambda name: name or "Every site",
            key="runs-site",
        )
    kinds = {EVERY: "Whatever it showed", ANY.name: ANY.label}
    kinds |= {each.name: each.label for each in store.shop.kinds}
    showing = second.selectbox(
        "Showed",
        list(kinds),
        index=remembered("showing", list(kinds)),
        format_func=kinds.__getitem__,
        key="runs-showing",
    )
    return str(site), str(showing)


def _day(name: str) -> date | None:
    try:
        return date.fromisoformat(st.query_params.get(name, ""))
    except ValueError:
        return None
