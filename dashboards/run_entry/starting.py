"""Where a run starts from: the machine's last run, the job's, or what was typed of it before."""

from __future__ import annotations

import time
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

import streamlit as st

from dashboards.run_entry.drawn import of_the_file
from dashboards.run_entry.kept import look_for_others, remember_the_start, resumed
from dashboards.run_entry.reference import new_reference
from dashboards.run_entry.typed import (
    KEPT,
    PREFIX,
    empty_aside,
    keep_typed,
    kept,
    key,
    put,
    typed,
)
from logbook.book.runs import Logged, now_at
from logbook.runs.columns import COLUMNS
from logbook.service import the_book
from logbook.store import Store, Window

ADDRESS = "draft"
"""What the address calls the run at hand, so that a page loaded anew finds it again."""
CONFIRMED_FOR = timedelta(minutes=2)
"""So long the confirmation of a run stands; whoever comes back later finds the next form."""
_OF_A_TRIAL = ("trial", "trial_arm")
"""Never taken over: each load of a trial is taken by a tap."""
_OF_THE_SHIFT = tuple(
    each.name for each in COLUMNS if each.role in ("people", "judging") or each.name == "site"
)
"""Parts of a setup that another job leaves as they are."""


def begin(store: Store) -> None:
    """Start a run where none is at hand: what was typed of it, else the machine's last run."""
    if typed("run_ref") is None:
        asked = st.query_params.get(ADDRESS)
        if asked is None or not resumed(store, asked):
            look_for_others(store)
            _start_first(store)
    elif _confirmed_long_ago(store):
        start_afresh()
        remember_the_start()
    if st.query_params.get(ADDRESS) != typed("run_ref"):
        st.query_params[ADDRESS] = typed("run_ref")


def _start_first(store: Store) -> None:
    machines = store.known("machine")
    asked, job = (st.query_params.get(name) for name in ("machine", "job"))
    machine = asked if asked in machines else (store.last_run() or {}).get("machine")
    put("machine", machine)
    refill(store, machine)
    if job in store.known("job"):
        put("job", job)
        take_job(store)
    cleared = typed("cleared")
    start_afresh()
    if cleared:
        empty_aside()
    remember_the_start()


def _confirmed_long_ago(store: Store) -> bool:
    logged: Logged | None = typed("logged")
    moment: datetime | None = typed("logged_at")
    # What a held run asks for stays until somebody has read it.
    if logged is None or moment is None or logged.held:
        return False
    return now_at(store) - moment > CONFIRMED_FOR


def start_afresh() -> None:
    """Give the run at hand a reference of its own and empty what belongs to one run only.

    The pieces are those of last time: shown large, and in the words of the button that logs.
    """
    # Once: a field that was plain text is a list from the second run on, and must not lose its
    # value with its shape.
    keep_typed()
    if typed("logged") is not None:
        put("describing", False)
        put("logged_before", typed("logged"))
    put("run_ref", new_reference())
    pieces = typed("pieces_last_time")
    if typed("logged") is not None and not typed("changing_setup"):
        pieces = typed("pieces_rest_of") or typed("pieces_sewn") or pieces
    put("pieces_last_time", pieces)
    for name in list(st.session_state):
        if isinstance(name, str) and name.startswith(PREFIX) and _of_one_run(name):
            del st.session_state[name]
    for name in _OF_A_TRIAL:
        put(name, None)
    put("pieces_sewn", pieces)


def start_next() -> None:
    """Start the next run because somebody asked for it."""
    start_afresh()
    remember_the_start()
    put("started_at", time.monotonic())


def refill(store: Store, machine: str | None) -> None:
    """Take the setup of a machine's last run; the shop's last run where it has none.

    Who sews is remembered by the device, since machines pass from hand to hand.
    """
    last = store.last_run(machine=machine) if machine else store.last_run()
    setup: Mapping[str, Any] = of_the_file(store, last or {})
    for name in kept(store):
        put(name, None if name in _OF_A_TRIAL else setup.get(name))
    if operator := st.query_params.get("operator"):
        put("operator", operator)
    _take_pieces(setup)
    # Asked once: the fields must not fold away while the first of them is being filled in.
    put("describing", last is None)


def take_job(store: Store) -> None:
    """Take the setup of a job's last run, on whichever machine; a new job changes nothing."""
    if (job := typed("job")) not in store.known("job"):
        return
    last = store.runs(Window(where={"job": job}), newest_first=True, limit=1)
    if last.is_empty():
        return
    setup = of_the_file(store, last.row(0, named=True))
    for name in kept(store):
        if name not in (*_OF_THE_SHIFT, *_OF_A_TRIAL):
            put(name, setup.get(name))
    _take_pieces(setup)


def _take_pieces(setup: Mapping[str, Any]) -> None:
    """Take the pieces of an earlier run, unless somebody has told other ones already."""
    before, told = typed("pieces_last_time"), typed("pieces_sewn")
    put("pieces_last_time", setup.get("pieces_sewn"))
    put("sampled_last_time", _sampled(setup))
    if told is None or told == before:
        put("pieces_sewn", setup.get("pieces_sewn"))


def _sampled(run: Mapping[str, Any]) -> bool:
    inspected, sewn = run.get("pieces_inspected"), run.get("pieces_sewn")
    return inspected is not None and sewn is not None and inspected < sewn


_STAYS = frozenset(
    key(each)
    for each in (
        *KEPT,
        "machine",
        "machine_button",
        "run_ref",
        "pieces_last_time",
        "sampled_last_time",
        "describing",
        "logged_before",
        "photos_lacking",
        "offered",
        "taken_of_the_design",
    )
)


def _of_one_run(name: str) -> bool:
    own = (key(each.name) for each in the_book().shop.own_columns)
    return name not in {*_STAYS, *own}
