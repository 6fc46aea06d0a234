"""Only some days or one site: asked the same way on every page, and said above the answer."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from html import escape
from urllib.parse import urlencode

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboards.showing import answer_follows, plain_markdown, remembered
from logbook.errors import LogbookError
from logbook.store import Store, Window

NAMES = ("since", "until", "site")
"""What the address calls them; the commands and the API say the same."""
EVERY_SITE = ""
FIRST_DAY = date(1990, 1, 1)
CROSSED = "The first day lies after the last one: no run can be between them."


@dataclass(frozen=True, slots=True)
class Narrowing:
    """Which days, both included, and which site; all runs where nothing is asked for."""

    since: date | None = None
    until: date | None = None
    site: str = EVERY_SITE

    @property
    def narrowed(self) -> bool:
        """Whether any run may be left out."""
        return self != ALL_RUNS

    @property
    def crossed(self) -> bool:
        """Whether the first day lies after the last."""
        return bool(self.since and self.until and self.since > self.until)

    def window(self) -> Window:
        """The same as the store is asked it."""
        return Window(since=self.since, until=self.until, site=self.site or None)

    def in_address(self) -> dict[str, str]:
        """What the address keeps, so that the view can be sent to a colleague."""
        days = {"since": self.since, "until": self.until}
        told = {name: day.isoformat() for name, day in days.items() if day}
        return told | ({"site": self.site} if self.site else {})

    def words(self) -> str:
        """Say it: ``Only runs of 1 Mar 2026 to 30 Apr 2026 at Northgate``; nothing where all."""
        if not self.narrowed:
            return ""
        parts = ["Only runs", _days_words(self.since, self.until), self.site and f"at {self.site}"]
        return " ".join(part for part in parts if part)

    def file_name(self, stem: str) -> str:
        """Name a file by what its figures are of: ``suppliers-since-2026-03-01-northgate``."""
        told = self.in_address()
        days = [f"{name}-{told[name]}" for name in NAMES[:2] if name in told]
        site = re.sub(r"\W+", "-", self.site.casefold()).strip("-")
        return "-".join(part for part in (stem, *days, site) if part)


ALL_RUNS = Narrowing()


def narrowing_asked(store: Store, *, page: str) -> Narrowing:
    """Draw the fields, filled with what the address says; closed where it says nothing.

    Parameters
    ----------
    store
        The open book.
    page
        Name of the page, by which its fields are told from those of other pages.
    """
    sites = _sites(store)
    label = "Only some days or one site" if sites else "Only some days"
    with st.expander(label, expanded=_told(sites).narrowed, key=f"{page}-narrowing"):
        first, second, *third = st.columns(3 if sites else 2)
        since, until = days_asked(first, second, page=page)
        return Narrowing(since, until, site_asked(store, *third, page=page))


@contextmanager
def answering(narrowing: Narrowing, waiting: str) -> Iterator[None]:
    """Say above the answer what it is narrowed to; the address is set before.

    Days the wrong way round have no answer: the page ends there.

    Parameters
    ----------
    narrowing
        What is asked for.
    waiting
        What is being worked out until the answer is there.
    """
    answer_follows(waiting)
    if narrowing.crossed:
        st.info(CROSSED)
        st.stop()
    try:
        yield
    except LogbookError:
        _say(narrowing)
        raise
    _say(narrowing)


def days_asked(
    first: DeltaGenerator, second: DeltaGenerator, *, page: str
) -> tuple[date | None, date | None]:
    """Draw the fields of the first and the last day."""
    since, until = (
        place.date_input(
            words,
            value=_day(name),
            key=f"{page}-{name}",
            format="DD/MM/YYYY",
            min_value=FIRST_DAY,
            max_value=_last_day(),
        )
        for place, words, name in ((first, "From", "since"), (second, "To", "until"))
    )
    return since, until


def site_asked(store: Store, *place: DeltaGenerator, page: str) -> str:
    """Draw the list of sites, where there is anything to choose."""
    sites = _sites(store)
    asked = st.query_params.get("site", EVERY_SITE)
    if asked and asked not in (sites or store.known("site")):
        st.info(f"This book has no site {plain_markdown(asked)}; what is shown is of every site.")
    if not sites:
        return EVERY_SITE
    return str(
        place[0].selectbox(
            "Site",
            sites,
            index=remembered("site", sites),
            format_func=lambda name: name or "Every site",
            key=f"{page}-site",
        )
    )


def _say(narrowing: Narrowing) -> None:
    if not narrowing.narrowed:
        return
    rest = {name: word for name, word in st.query_params.items() if name not in NAMES}
    whole = escape(f"?{urlencode(rest)}", quote=True)
    st.html(
        f'<p class="narrowed"><span>{escape(narrowing.words())}.</span> '
        f'<a href="{whole}" target="_self">Answer from all runs</a></p>'
    )


def _sites(store: Store) -> list[str]:
    """The sites to choose from; none where every run is of the only one."""
    known = store.known("site")
    some = len(known) > 1 or (len(known) == 1 and store.totals(by=("site",)).height > 1)
    return [EVERY_SITE, *known] if some else []


def _told(sites: list[str]) -> Narrowing:
    site = sites[remembered("site", sites)] if sites else EVERY_SITE
    return Narrowing(_day("since"), _day("until"), site)


def _day(name: str) -> date | None:
    """Read a day of the address; what is none, or none that can be chosen, is passed over."""
    try:
        day = date.fromisoformat(st.query_params.get(name, ""))
    except ValueError:
        return None
    return day if FIRST_DAY <= day <= _last_day() else None


def _last_day() -> date:
    return date(date.today().year + 1, 12, 31)


def _days_words(since: date | None, until: date | None) -> str:
    first, last = (day and f"{day.day} {day:%b %Y}" for day in (since, until))
    if first and last:
        return f"of {first}" if first == last else f"of {first} to {last}"
    if first:
        return f"since {first}"
    return f"up to {last}" if last else ""
