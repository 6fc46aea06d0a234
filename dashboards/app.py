"""The router of the pages: a list, and what every page has around it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Literal, TypeAlias

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from dashboards import question_page
from dashboards.css import apply_css
from dashboards.held_runs import say_held_runs
from dashboards.in_sight import show_place_in_menu
from dashboards.run_entry.typed import keep_typed
from dashboards.shared import book, plainly, require_sign_in, role, signed_in
from logbook.questions import QUESTIONS

HERE = Path(__file__).parent
# The page with a form, whose fields the other pages hold on to. (A comment, since Streamlit may
# draw a bare string of its main script on the page.)
ENTRY = "views/log.py"
TODAY = "views/today.py"
# It says of held runs what has to be done.
REVIEW = "views/weekly_review.py"


Group: TypeAlias = Literal["Sew", "Look", "Keep"]
GROUPS: tuple[Group, ...] = ("Sew", "Look", "Keep")


@dataclass(frozen=True, slots=True)
class Page:
    """One page: its script, its name in the menu and its address."""

    script: str | Callable[[], None]
    title: str
    address: str
    layout: Literal["centered", "wide"] = "wide"
    group: Group = "Look"
    in_menu: bool = True
    question: str | None = None
    """The question that it answers, where there is one."""


# The first stands at the book's own address; each group opens with its first page.
PAGES: tuple[Page, ...] = (
    Page(TODAY, "Today", "today", question="today"),
    Page(REVIEW, "Weekly review", "review", question="review"),
    Page("views/suppliers.py", "Suppliers", "suppliers", question="suppliers"),
    Page("views/factors.py", "Factors", "factors", question="factors"),
    Page(ENTRY, "Log a run", "log", "centered", "Sew"),
    Page("views/plan_setup.py", "Plan a setup", "plan", group="Sew", question="advise"),
    Page("views/trials.py", "Trials", "trials", "centered", "Sew", question="trials"),
    Page("views/defect_guide.py", "Defect guide", "guide", group="Sew"),
    Page("views/runs.py", "Runs", "runs", group="Keep"),
    Page("views/bring.py", "Bring in a sheet", "bring", "centered", group="Keep"),
    Page("views/designs.py", "Designs", "designs", group="Keep"),
    Page("views/materials.py", "Materials", "materials", group="Keep"),
)


def _of_questions() -> tuple[Page, ...]:
    """The questions without a page made by hand: theirs are made of their declaration."""
    by_hand = {page.question for page in PAGES}
    return tuple(
        Page(partial(question_page.show, each), each.title, each.name, in_menu=each.in_menu)
        for each in QUESTIONS.values()
        if each.name not in by_hand
    )


def main() -> None:
    """Draw the page that the address names."""
    pages = {
        st.Page(
            HERE / page.script if isinstance(page.script, str) else page.script,
            title=page.title,
            url_path=page.address,
            default=position == 0,
        ): page
        for position, page in enumerate((*PAGES, *_of_questions()))
    }
    chosen = st.navigation(list(pages), position="hidden")
    page = pages[chosen]
    st.set_page_config(page_title=f"{page.title} · logbook", layout=page.layout)
    apply_css()
    if page.script != ENTRY:
        keep_typed()
    with st.container(key="menu"):
        _groups(pages, page)
        menu = st.container(horizontal=True, wrap=False, key="pages")
    with menu:
        for each, entry in pages.items():
            if entry.group != page.group or not entry.in_menu:
                continue
            here = "here" if each is chosen else None
            st.container(width="content", key=here).page_link(each, width="content")
    show_place_in_menu(page.address)
    with plainly():
        require_sign_in()
        if page.script == TODAY:
            _form_first(next(each for each, entry in pages.items() if entry.script == ENTRY))
        with menu:
            signed_in()
        say_held_runs(book(), in_full=page.script == REVIEW)
        chosen.run()


def _groups(pages: dict[StreamlitPage, Page], here: Page) -> None:
    """Lead to the first page of each group; the present one is marked."""
    with st.container(horizontal=True, wrap=False, key="groups"):
        for group in GROUPS:
            first = next(each for each, entry in pages.items() if entry.group == group)
            key = "group_here" if group == here.group else None
            box = st.container(width="content", key=key)
            box.page_link(first, label=group, width="content")


def _form_first(form: StreamlitPage) -> None:
    """Lead an operator who has just come, or who names a machine, to the form."""
    asked = st.query_params.to_dict()
    arrived = "has_arrived" not in st.session_state
    st.session_state["has_arrived"] = True
    if {"machine", "operator"} & set(asked) or (arrived and role() == "operator"):
        st.switch_page(form, query_params=asked)


main()
