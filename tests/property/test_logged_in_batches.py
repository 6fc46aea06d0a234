"""Runs of many requests judged in one piece get what each would get by itself."""

from __future__ import annotations

import asyncio
import json
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from logged_runs import empty_book

from logbook.runs.columns import run_schema
from logbook.runs.intake import Parsed, parse_batch, parse_runs
from logbook.runs.rules import rules_for
from logbook.service.api.bodies import read_json
from logbook.service.api.idempotency import KeysInUse
from logbook.service.api.log_requests import log_alone, log_request
from logbook.service.api.problems import Refusal
from logbook.service.batching import Batcher
from logbook.shop import Shop
from logbook.store.duckdb_store import DuckStore

NOW = datetime(2026, 11, 2, 12)
KNOWN = {"machine": ("M1", "Six head"), "backing_supplier": ("Alder", "Birch")}
PATIENT = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)

NAMES = st.sampled_from(
    ["Alder", "alder", "ALDER ", "Aldre", "Birch", "Birhc", "Cedar", "cedar", "Ceder", "Müller"]
)
RUNS = st.fixed_dictionaries(
    {"finished_at": st.sampled_from(["2026-10-06T09:30", "2026-10-07", "2027-01-01", "soon", ""])},
    optional={
        "run_ref": st.sampled_from(["R-1", "R-2", "R-3", "R-4"]),
        "machine": st.sampled_from(["M1", "m1", "Six head", "six  head", "M2"]),
        "backing_supplier": NAMES,
        "operator": NAMES,
        "pieces_inspected": st.sampled_from([24, "24", 0, -1, "many"]),
        "puckering": st.sampled_from([0, 1, 25]),
        "thread_breaks": st.sampled_from([0, 2]),
        "needle_breaks": st.sampled_from([0, 1]),
        "needle_parts_found": st.booleans(),
        "backing_oz_yd2": st.sampled_from([2.5, 0]),
        "no_such": st.just(1),
    },
)
NAMED = st.builds(
    lambda number, name: {
        "run_ref": f"N-{number}",
        "finished_at": "2026-10-06",
        "backing_supplier": name,
        "pieces_inspected": 24,
        "puckering": 0,
    },
    st.integers(1, 20),
    NAMES,
)
"""Nothing is wrong with these but, perhaps, how the supplier is written."""
REQUESTS = st.lists(
    st.lists(RUNS | NAMED | st.just("no object"), min_size=0, max_size=3), min_size=1, max_size=8
)


def _said(parsed: Parsed) -> tuple[Any, ...]:
    places = parsed.good_positions.to_list()
    return (parsed.good.rows(), places, parsed.rejects, parsed.reasons, parsed.notes, parsed.rows)


@given(requests=REQUESTS)
@PATIENT
def test_a_request_is_judged_among_others_as_by_itself(requests: list[list[Any]]) -> None:
    shop = Shop()
    parts = parse_batch(requests, shop=shop, known=KNOWN, now=NOW)
    assert parts[0].parsed is not None
    for entries, part in zip(requests, parts, strict=True):
        alone = parse_runs(entries, shop=shop, known=KNOWN, now=NOW)
        if part.parsed is not None:
            assert _said(part.parsed) == _said(alone)
            assert part.parsed.good.schema == alone.good.schema
        else:
            # It hangs on an earlier one: there must be one with a name that nobody had.
            assert any(each.fresh for each in parts)


ASKED = st.lists(
    st.tuples(
        st.lists(RUNS | NAMED, min_size=1, max_size=2) | st.lists(NAMED, min_size=1, max_size=1),
        st.none() | st.sampled_from(["k-1", "k-2", "k-3"]),
    ),
    min_size=1,
    max_size=10,
)


def _request(book: DuckStore, runs: list[Any], key: str | None) -> Any:
    return log_request(book, read_json(json.dumps(runs).encode()), key=key, source="test")


def _outcome(asking: Any) -> Any:
    try:
        return asking()
    except Refusal as refusal:
        return refusal.problem.slug, refusal.detail


class Noted(Batcher):
    """Notes in which order requests were answered: the order in which they were committed."""

    def __init__(self, expected: int) -> None:
        super().__init__(KeysInUse())
        # So that it waits for all of them, and judges them in one piece.
        self._sizes.append(expected)
        self.order: list[Any] = []

    def _answer(self, outcomes: Any) -> None:
        self.order += [waiting.request for waiting, _ in outcomes]
        super()._answer(outcomes)


def _all_at_once(
    book: DuckStore, asked: list[tuple[list[Any], str | None]]
) -> tuple[list[Any], list[int]]:
    """What each was told, and the order in which they took effect."""
    batcher = Noted(len(asked))
    requests = [_request(book, *each) for each in asked]

    async def one(each: Any) -> Any:
        while True:
            try:
                return await batcher.log(each)
            except Refusal as refusal:
                if refusal.problem.slug != "still-running":
                    return refusal.problem.slug, refusal.detail
                await asyncio.sleep(0.001)

    async def every() -> list[Any]:
        return await asyncio.gather(*(one(each) for each in requests))

    with ThreadPoolExecutor(1) as pool:
        told = pool.submit(lambda: asyncio.run(every())).result(60)
    return told, [next(n for n, b in enumerate(requests) if b is each) for each in batcher.order]


def _kept(book: DuckStore) -> list[tuple[Any, ...]]:
    return book.runs().sort("run_ref").rows()


@given(asked=ASKED)
@settings(PATIENT, max_examples=25)
def test_many_at_once_are_answered_as_one_at_a_time(
    tmp_path_factory: pytest.TempPathFactory, asked: list[tuple[list[Any], str | None]]
) -> None:
    folder = tmp_path_factory.mktemp("books")
    with empty_book(folder / "together") as book:
        told, order = _all_at_once(book, asked)
        together = _kept(book)
    assert sorted(order) == list(range(len(asked)))
    with empty_book(folder / "apart") as book:
        apart = [_outcome(lambda n=n: log_alone(_request(book, *asked[n]))) for n in order]
        assert _kept(book) == together
    assert apart == [told[place] for place in order]


def test_a_name_brought_a_moment_before_is_in_use_for_the_next(tmp_path: Path) -> None:
    run = {"finished_at": "2026-10-06", "pieces_inspected": 24, "puckering": 0}
    names = ["Cedar", "CEDAR", "Cedra", "Alder", "Cedar"]
    asked = [
        ([{**run, "run_ref": f"R-{n}", "backing_supplier": name}], None)
        for n, name in enumerate(names)
    ]
    with empty_book(tmp_path / "book") as book:
        told, order = _all_at_once(book, asked)
        suppliers = book.runs().sort("run_ref")["backing_supplier"].to_list()
    assert suppliers == ["Cedar", "Cedar", "Cedra", "Alder", "Cedar"]
    notes = [" ".join(json.loads(each.content)["notes"]) for each in told]
    assert "'CEDAR' (1 run) was read as 'Cedar'" in notes[1]
    assert "'Cedra' is new and close to 'Cedar'" in notes[2]
    assert (notes[0], notes[3], notes[4]) == ("", "", "")
    # Those that hang on the first had to wait for it; the others did not.
    assert order == [0, 3, 4, 1, 2]


def test_a_rule_says_nothing_where_the_column_that_it_needs_is_empty() -> None:
    schema = run_schema() | {"backing_oz_yd2": pl.Float64()}
    values: dict[str, list[Any]] = {
        name: [None, 0, 1, 100] if dtype.is_numeric() else [None] * 4
        for name, dtype in schema.items()
    }
    frame = pl.DataFrame(values, schema=schema)
    crossed = frame.select(
        pl.all().exclude("pieces_inspected", "pieces_sewn", "pieces_defective")
    ).join(frame.select("pieces_inspected", "pieces_sewn", "pieces_defective"), how="cross")
    rules = [rule for rule in rules_for((), now=NOW) if rule.needs is not None]
    assert len(rules) > 50
    for rule in rules:
        empty = crossed.with_columns(pl.lit(None, schema[rule.needs]).alias(rule.needs))
        assert not empty.select(rule.broken.fill_null(False).any()).item(), rule.name
