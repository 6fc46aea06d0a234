"""Marks on a real stitch file, held against the density measured from it."""

from __future__ import annotations

import io
from datetime import datetime
from pathlib import Path

import numpy as np
import polars as pl
import pystitch
import pytest
from scipy import stats
from sewn_blocks import stitch_file

from logbook.book.defect_locations import add_locations, locations_on_design
from logbook.book.design_files import add_design_file, file_of, measured_again
from logbook.book.designs import designs
from logbook.book.location_checks import BEYOND_MM
from logbook.book.runs import log_run
from logbook.errors import RecordError
from logbook.questions.places import analyse as places
from logbook.questions.places.asking import NEAR_MM, places_on
from logbook.questions.places.words import headline
from logbook.runs.defect_locations import DefectLocation
from logbook.stitches import measure_bytes
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore
from sample_logs.designs import DESIGNS, DrawnDesign


def _open_and_dense() -> bytes:
    """A block of rows 1 mm apart on the left, one of rows 0.25 mm apart far to the right."""
    pattern = pystitch.EmbPattern()
    for left, spacing in ((0, 10.0), (500, 2.5)):
        for row in range(int(200 / spacing)):
            for step in range(6):
                x = step * 40 if row % 2 == 0 else 200 - step * 40
                pattern.add_stitch_absolute(pystitch.STITCH, left + x, row * spacing)
    pattern.add_command(pystitch.END)
    out = io.BytesIO()
    pystitch.write_dst(pattern, out)
    return out.getvalue()


@pytest.fixture
def store(tmp_path: Path) -> DuckStore:
    book = new_book(str(tmp_path / "book"))
    add_design_file(
        book,
        "Crest",
        _open_and_dense(),
        file_name="a.dst",
        source="test",
        since=datetime(2026, 1, 1),
    )
    return book


def _marked(store: DuckStore, number: int, *places: DefectLocation) -> None:
    ref = f"R-{number}"
    told = {"run_ref": ref, "finished_at": f"2026-10-{number + 1:02}", "design": "Crest"}
    log_run(store, told | {"pieces_inspected": 10, "puckering": 2}, source="test")
    add_locations(store, ref, places=places, source="test")


def test_a_place_far_outside_the_design_is_not_kept(store: DuckStore) -> None:
    found = measured_again(store, designs(store)[0].newest)
    right, bottom = found.left_mm + found.width_mm, found.top_mm + found.height_mm
    outside = BEYOND_MM + 1
    for number, (x, y) in enumerate(
        [
            (right + outside, bottom),
            (found.left_mm - outside, bottom),
            (right, bottom + outside),
            (right, found.top_mm - outside),
        ]
    ):
        with pytest.raises(RecordError, match="21 mm outside the design"):
            _marked(store, number, DefectLocation("puckering", x, y))
    _marked(store, 8, DefectLocation("puckering", right + BEYOND_MM - 1, found.top_mm - 1))
    assert len(locations_on_design(store, "Crest")) == 1


@pytest.mark.parametrize("left_of_it", [None, 60, 0])
def test_where_the_stitch_file_cannot_be_read_a_place_is_kept(
    store: DuckStore, left_of_it: int | None
) -> None:
    path = file_of(store, designs(store)[0].newest)
    if left_of_it is None:
        path.unlink()
    else:
        path.write_bytes(path.read_bytes()[:left_of_it])
    _marked(store, 1, DefectLocation("puckering", 900.0, 900.0))
    assert len(locations_on_design(store, "Crest")) == 1


def test_marks_on_the_dense_block_lean_to_dense_places(store: DuckStore) -> None:
    middle_of_dense = places_on(store, "Crest").measurement.density.densest_at_mm
    for number in range(8):
        place = DefectLocation("puckering", middle_of_dense[0], middle_of_dense[1] + number / 10)
        _marked(store, number, place, place)
    found = places_on(store, "Crest")
    assert found.result is not None
    [puckering] = found.result.kinds
    assert puckering.leans
    assert puckering.fit.groups == 8
    assert "Puckering sits in the dense" in headline(found.result)
    assert len(found.places) == 16


def test_without_marks_there_is_a_map_and_no_result(store: DuckStore) -> None:
    found = places_on(store, "Crest")
    assert found.result is None
    assert found.places == ()
    assert found.measurement.density.densest > 2 * found.measurement.mean_density / 3


def test_marks_on_an_earlier_version_are_counted_apart(store: DuckStore) -> None:
    _marked(store, 1, DefectLocation("puckering", 5.0, 5.0))
    add_design_file(store, "Crest", stitch_file(), file_name="b.dst", source="test")
    now = places_on(store, "Crest")
    assert (now.places, now.elsewhere) == ((), 1)
    before = places_on(store, "Crest", mark=_first_mark(store))
    assert (len(before.places), before.elsewhere) == (1, 0)


def test_a_design_without_a_file_is_said_to_have_none(store: DuckStore) -> None:
    with pytest.raises(RecordError, match="no such stitch file of Other"):
        places_on(store, "Other")
    with pytest.raises(RecordError, match="no such stitch file"):
        places_on(store, "Crest", mark="feedfeedfeedfeed")


def _first_mark(store: DuckStore) -> str:
    mark = store.runs()["design_version"].item()
    assert isinstance(mark, str)
    return mark


@pytest.mark.parametrize("drawn", DESIGNS, ids=[design.name for design in DESIGNS])
def test_taps_that_miss_by_millimetres_raise_no_more_alarms(drawn: DrawnDesign) -> None:
    """Three taps a run on random stitches, 3 mm off: at most one time in twenty they lean."""
    found = measure_bytes(drawn.content(), file_name=drawn.file_name)
    stitches = found.design.needle_points_mm
    of_stitches = found.density.at(stitches)
    random = np.random.default_rng(17)
    times = 40
    called = 0
    for _ in range(times):
        taps = stitches[random.integers(0, len(stitches), 45)] + random.normal(0, 3, (45, 2))
        frame = pl.DataFrame(
            {
                "kind": "puckering",
                "run_ref": [f"R-{at // 3}" for at in range(45)],
                "density": found.density_near(taps, within_mm=NEAR_MM),
            }
        ).filter(pl.col("density").is_not_nan())
        result = places.analyse(frame, stitch_density=of_stitches, design="D", labels={})
        called += bool(result.kinds[0].leans)
    assert called <= stats.binom.ppf(0.999, times, 0.05)


def test_a_tap_far_from_every_stitch_is_no_place_on_the_design(store: DuckStore) -> None:
    _marked(store, 1, DefectLocation("puckering", 85.0, 35.0))
    found = places_on(store, "Crest")
    assert found.result is None
    assert found.measurement.distance_mm((500.0, 500.0)) > 100
