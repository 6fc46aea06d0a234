"""A trial from plan to verdict, on a phone."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from served import Served, serving
from settling import fits, hears_typing, settled
from trial_shop import loads_of, towel_book

from logbook.book.runs import log_run
from logbook.book.trials import trial_named
from logbook.store.served import reach_book

pytestmark = pytest.mark.browser


@pytest.fixture
def towels(tmp_path: Path) -> Iterator[Served]:
    towel_book(tmp_path / "book", runs=12).close()
    with serving(tmp_path / "book") as served:
        yield served


def _choose(page: Page, label: str, option: str) -> None:
    page.get_by_label(label).tap()
    page.get_by_role("option", name=option, exact=True).tap()
    settled(page)


def test_a_trial_is_planned_started_logged_and_judged(
    towels: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{towels.address}/trials")
    settled(page)
    _choose(page, "Changed to", "Water-soluble film")
    page.get_by_text("In points").tap()
    page.get_by_label("Points", exact=True).fill("6")
    page.get_by_label("Points", exact=True).press("Tab")
    settled(page)
    page.get_by_role("button", name="Say what it takes").tap()
    expect(page.get_by_text("find a fall of 6.0 points")).to_be_visible()
    fits(page)
    page.get_by_role("button", name="Keep this trial").tap()
    expect(page.get_by_text("Kept as trial T1")).to_be_visible()
    page.get_by_role("button", name="Start trial T1").tap()
    expect(page.get_by_text("T1 is running")).to_be_visible()
    fits(page)

    form = visit(f"{towels.address}/log?trial=T1&machine=M1")
    hears_typing(form)
    expect(form.get_by_text("pair 1, load 1 of 2")).to_be_visible()
    form.get_by_role("button", name="Sew this load").tap()
    expect(form.get_by_text("In trial T1")).to_be_visible()
    hears_typing(form)
    form.get_by_role("button", name="Clean run: log").tap()
    expect(form.get_by_text("Logged.")).to_be_visible()
    settled(form)
    form.get_by_role("button", name="Log the next run").tap()
    expect(form.get_by_text("pair 1, load 2 of 2")).to_be_visible()
    fits(form)

    store = reach_book(str(towels.place))
    [first] = store.runs(refs=None).filter(store.runs()["trial"] == "T1").to_dicts()
    trial = trial_named(store, "T1").trial
    assert first["trial_arm"] == trial.first[0]
    loads = loads_of(trial, [9] * trial.pairs, [0, 1] * trial.pairs)
    for run in loads[1:]:
        pieces = {"pieces_sewn": trial.pieces_per_arm, "pieces_inspected": trial.pieces_per_arm}
        log_run(store, {**first, **run, **pieces, "finished_at": run["finished_at"].replace(
            year=2027)}, source="test")  # fmt: skip
    page.reload()
    settled(page)
    expect(page.get_by_text("Take it: the change brings")).to_be_visible()
    page.get_by_role("button", name="End it and keep the verdict").tap()
    expect(page.get_by_text("T1 has ended")).to_be_visible()
    fits(page)
