"""Marks stay with their run, and many of them are counted by head, colour and part of the file."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from logbook.book.defect_locations import (
    KEYS_KEPT,
    add_locations,
    add_locations_once,
    locations_of_run,
    locations_on_design,
    remove_location,
)
from logbook.book.runs import amend_run, log_run, withdraw_run
from logbook.errors import RecordError, RunNotFound, TooLittleData
from logbook.questions.breaks.asking import break_patterns
from logbook.questions.breaks.words import headline
from logbook.runs.defect_locations import BreakLocation, DefectLocation, RunLocations
from logbook.runs.designs import Design, DesignVersion
from logbook.store import Window, new_book
from logbook.store.duckdb_store import DuckStore

VERSION = DesignVersion(
    *("00112233445566aa", "a.dst", "dst", datetime(2026, 1, 1), 1000, 2, 50.0, 40.0, 5.0, 4.0, 6.0),
    step_stitches=(600, 300, 100),
    needles=(1, 2, 1),
)


@pytest.fixture
def store(tmp_path: Path) -> DuckStore:
    book = new_book(str(tmp_path / "book"))
    design = Design("Crest", (VERSION,))
    book.put_document("designs", "Crest", design.plain(), source="test")
    return book


def _run(store: DuckStore, ref: str, *, day: int = 5, breaks: int = 2, **more: object) -> None:
    told = {
        "run_ref": ref,
        "finished_at": f"2026-10-{day:02}",
        "machine": "M2",
        "design": "crest",
        "head_count": 4,
        "pieces_sewn": 20,
        "thread_breaks": breaks,
        "gaps": 4,
    }
    log_run(store, told | more, source="test")


def _broken(store: DuckStore, ref: str, *breaks: BreakLocation) -> None:
    add_locations(store, ref, breaks=breaks, source="form")


def _marked(store: DuckStore, ref: str) -> RunLocations:
    return locations_of_run(store, store.runs(refs=[ref]).row(0, named=True))


PLACE = DefectLocation("gaps", 3.5, -2.0)


def test_marks_carry_their_runs_design_and_version(store: DuckStore) -> None:
    _run(store, "R-1")
    assert _marked(store, "R-1").places == ()
    add_locations(store, "R-1", places=[PLACE], source="form")
    kept = _marked(store, "R-1")
    assert (kept.design, kept.design_version) == ("Crest", VERSION.digest)
    assert kept.places == (PLACE,)
    with pytest.raises(RunNotFound):
        add_locations(store, "R-9", places=[PLACE], source="form")


def test_marks_of_several_hands_are_all_kept(store: DuckStore) -> None:
    _run(store, "R-1")
    with ThreadPoolExecutor(4) as hands:
        list(
            hands.map(
                lambda at: add_locations(
                    store, "R-1", places=[DefectLocation("gaps", float(at), 0.0)], source="form"
                ),
                range(4),
            )
        )
    assert sorted(place.x_mm for place in _marked(store, "R-1").places) == [0.0, 1.0, 2.0, 3.0]
    remove_location(store, "R-1", DefectLocation("gaps", 2.0, 0.0), source="form")
    remove_location(store, "R-1", DefectLocation("gaps", 9.0, 0.0), source="form")
    assert sorted(place.x_mm for place in _marked(store, "R-1").places) == [0.0, 1.0, 3.0]


def test_no_more_breaks_are_placed_than_the_run_counted(store: DuckStore) -> None:
    _run(store, "R-1", breaks=2)
    _broken(store, "R-1", *[BreakLocation("thread_breaks", head=1)] * 2)
    with pytest.raises(RecordError, match="the run counted 2"):
        _broken(store, "R-1", BreakLocation("thread_breaks", head=1))
    assert len(_marked(store, "R-1").breaks) == 2


def test_what_a_run_cannot_have_is_not_placed(store: DuckStore) -> None:
    _run(store, "R-1", puckering=0)
    for kind, says in (("sinking", "did not record sinking"), ("puckering", "counted no pucker")):
        with pytest.raises(RecordError, match=says):
            add_locations(store, "R-1", places=[replace(PLACE, kind=kind)], source="form")
    with pytest.raises(RecordError, match="did not record needle breaks"):
        _broken(store, "R-1", BreakLocation("needle_breaks", head=1))
    with pytest.raises(RecordError, match=r"no stitch 1,001: the design's file a\.dst has 1,000"):
        _broken(store, "R-1", BreakLocation("thread_breaks", stitch=1001))
    _broken(store, "R-1", BreakLocation("thread_breaks", stitch=1000))
    assert len(_marked(store, "R-1").breaks) == 1


def test_places_do_not_move_to_a_drawing_they_were_not_made_on(store: DuckStore) -> None:
    other = replace(VERSION, digest="ffeeddccbbaa9988")
    store.put_document("designs", "Badge", Design("Badge", (other,)).plain(), source="test")
    _run(store, "R-1")
    add_locations(
        store,
        "R-1",
        places=[PLACE],
        breaks=[BreakLocation("thread_breaks", head=2, colour_step=1, stitch=10)],
        source="form",
    )
    amend_run(store, "R-1", {"design": "Badge"}, why="wrong one", source="form")
    now = _marked(store, "R-1")
    assert (now.design, now.design_version, now.places) == ("Badge", other.digest, ())
    assert now.breaks == (BreakLocation("thread_breaks", head=2),)
    assert locations_on_design(store, "Crest") == ()
    amend_run(store, "R-1", {"design": "Crest"}, why="it was right", source="form")
    assert _marked(store, "R-1").places == (PLACE,)


def test_marks_of_a_drawing_stay_while_another_is_marked(store: DuckStore) -> None:
    other = replace(VERSION, digest="ffeeddccbbaa9988")
    store.put_document("designs", "Badge", Design("Badge", (other,)).plain(), source="test")
    _run(store, "R-1", puckering=3)
    request = ("key", "fingerprint")
    sent = {"places": [PLACE], "source": "api", "request": request}
    assert add_locations_once(store, "R-1", **sent)[1]
    amend_run(store, "R-1", {"design": "Badge"}, why="wrong one", source="form")
    marks, is_new = add_locations_once(store, "R-1", **sent)
    assert (marks.places, is_new) == ((), False)
    elsewhere = replace(PLACE, x_mm=3.0)
    add_locations(store, "R-1", places=[elsewhere], source="form")
    assert [each.places for each in locations_on_design(store, "Badge")] == [(elsewhere,)]
    amend_run(store, "R-1", {"design": "Crest"}, why="it was right", source="form")
    assert _marked(store, "R-1").places == (PLACE,)
    assert [each.places for each in locations_on_design(store, "Crest")] == [(PLACE,)]
    assert locations_on_design(store, "Badge") == ()
    assert _marked(store, "R-1").requests == dict([request])


def test_heads_are_the_machines_whatever_the_run_is_said_to_be_of(store: DuckStore) -> None:
    other = replace(VERSION, digest="ffeeddccbbaa9988")
    store.put_document("designs", "Badge", Design("Badge", (other,)).plain(), source="test")
    _run(store, "R-1", breaks=3)
    at_two = BreakLocation("thread_breaks", head=2, colour_step=1)
    unsaid = BreakLocation("thread_breaks", stitch=40)
    _broken(store, "R-1", at_two, unsaid, BreakLocation("thread_breaks", head=3, stitch=9))
    amend_run(store, "R-1", {"design": "Badge"}, why="wrong one", source="form")
    remove_location(store, "R-1", BreakLocation("thread_breaks", head=3), source="form")
    _broken(store, "R-1", BreakLocation("thread_breaks", head=4, colour_step=2))
    amend_run(store, "R-1", {"design": "Crest"}, why="it was right", source="form")
    back = _marked(store, "R-1").breaks
    assert back == (at_two, BreakLocation("thread_breaks", head=4), unsaid)
    with pytest.raises(RecordError):
        _broken(store, "R-1", BreakLocation("thread_breaks", head=1))


def test_the_last_keys_of_a_run_are_remembered(store: DuckStore) -> None:
    _run(store, "R-1", breaks=3 * KEYS_KEPT)
    for number in range(KEYS_KEPT + 1):
        add_locations_once(
            store,
            "R-1",
            breaks=[BreakLocation("thread_breaks", head=1)],
            source="api",
            request=(f"k-{number}", "same"),
        )
    requests = _marked(store, "R-1").requests
    assert len(requests) == KEYS_KEPT
    assert "k-0" not in requests


def test_marks_of_withdrawn_runs_count_no_more(store: DuckStore) -> None:
    for ref in ("R-1", "R-2"):
        _run(store, ref)
        add_locations(store, ref, places=[PLACE], source="form")
    withdraw_run(store, "R-1", why="entered twice", source="form")
    assert [marks.run_ref for marks in locations_on_design(store, "Crest")] == ["R-2"]
    assert locations_on_design(store, "Other") == ()


def test_breaks_are_counted_against_what_each_head_sewed(store: DuckStore) -> None:
    for number in range(6):
        _run(store, f"R-{number}")
        _broken(store, f"R-{number}", *[BreakLocation("thread_breaks", head=3)] * 2)
    _run(store, "R-7", head_count=2, breaks=5)
    result = break_patterns(store)
    [heads] = [each.tally for each in result.judged if each.tally.gathering == "head"]
    assert heads.counts == (0, 0, 12, 0)
    six_runs, two_heads = 6 * 20 * 1000 / 4, 20 * 1000 / 2
    assert heads.stitches == (six_runs + two_heads, six_runs + two_heads, six_runs, six_runs)
    assert heads.unsaid == 5
    assert "Mostly one head: 12 of 12 breaks of machine M2 from 6 runs" in headline(result)


def test_colours_needles_and_parts_are_those_of_the_file(store: DuckStore) -> None:
    for number in range(4):
        _run(store, f"R-{number}", head_count=1)
        place = BreakLocation("thread_breaks", needle=2, colour_step=2, stitch=700 + number)
        _broken(store, f"R-{number}", place, place)
    tallies = {each.tally.gathering: each.tally for each in break_patterns(store).judged}
    assert tallies["colour_step"].counts == (0, 8, 0)
    assert tallies["colour_step"].stitches == (600.0, 300.0, 100.0)
    assert (tallies["needle"].labels, tallies["needle"].stitches) == (("1", "2"), (700.0, 300.0))
    assert tallies["needle"].counts == (0, 8)
    assert tallies["place"].counts == (0, 0, 0, 0, 0, 0, 2, 6, 0, 0)
    assert "head" not in tallies


def test_only_runs_asked_about_count(store: DuckStore) -> None:
    for number in range(4):
        _run(store, f"R-{number}", day=1 + 7 * number)
        _broken(store, f"R-{number}", *[BreakLocation("thread_breaks", head=1)] * 2)
    since = Window(since=datetime(2026, 10, 20).date())
    with pytest.raises(TooLittleData, match="for 2 of them at most; 5 from 3 runs"):
        break_patterns(store, window=since)
    assert break_patterns(store, design="Crest").judged
    with pytest.raises(TooLittleData):
        break_patterns(store, design="Other")
