"""Counts, size, thread and lengths of designs that can be reckoned by hand."""

from __future__ import annotations

import json
import math

import numpy as np
import pystitch
import pytest
from stitch_files import pattern_of, plain_fill, three_blocks, written

from logbook.stitches import Measurement, design_of, measure
from logbook.stitches.measured import LENGTH_EDGES_MM

SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0), (0.0, 0.0)]


def measured(pattern: pystitch.EmbPattern, ending: str = "csv") -> Measurement:
    return measure(design_of(written(pattern, ending), file_name=f"a.{ending}"))


def test_a_square_of_four_stitches() -> None:
    found = measured(pattern_of(SQUARE))
    assert found.stitches == 5
    assert (found.width_mm, found.height_mm) == (10, 10)
    assert found.thread_length_m == pytest.approx(0.04)
    assert (found.lengths.stitches, found.lengths.median_mm) == (4, 10)
    # Four lines of half-millimetre cells, 10.0 mm and the cell of the last needle point.
    assert found.sewn_area_cm2 == pytest.approx(4 * 20 * 0.25 / 100, rel=0.05)


def test_the_origin_does_not_matter() -> None:
    here = measured(pattern_of(plain_fill(width=20, height=20, spacing=0.4, stitch=4)))
    moved = measured(
        pattern_of(
            [(x + 33, y - 57) for x, y in plain_fill(width=20, height=20, spacing=0.4, stitch=4)]
        )
    )
    assert moved.density.densest == pytest.approx(here.density.densest)
    assert moved.thread_length_m == pytest.approx(here.thread_length_m)
    assert moved.sewn_area_cm2 == pytest.approx(here.sewn_area_cm2)
    assert np.subtract(moved.density.densest_at_mm, here.density.densest_at_mm).tolist() == [
        33,
        -57,
    ]


def test_every_stitch_is_in_the_map_once() -> None:
    found = measured(three_blocks())
    assert found.density.penetrations.sum() == found.stitches == 180
    sewn = found.thread_length_m - found.thread_over_jumps_m
    assert found.density.thread_mm.sum() == pytest.approx(sewn * 1000)
    assert sum(band.share for band in found.bands) == pytest.approx(1)
    assert sum(found.lengths.counts) == found.lengths.stitches
    assert found.step_stitches == (60, 60, 60)


def carried(*between: tuple[int, float]) -> pystitch.EmbPattern:
    """Two runs of ten stitches 1 mm long, 50 mm apart, with commands between them."""
    pattern = pystitch.EmbPattern()
    for x in range(11):
        pattern.add_stitch_absolute(pystitch.STITCH, x * 10, 0)
    for command, x in between:
        pattern.add_stitch_absolute(command, x * 10, 0)
    for x in range(60, 71):
        pattern.add_stitch_absolute(pystitch.STITCH, x * 10, 0)
    pattern.end()
    return pattern


def test_a_jump_without_a_cut_carries_thread() -> None:
    found = measured(carried((pystitch.JUMP, 35), (pystitch.JUMP, 60)))
    assert (found.jumps, found.trims) == (2, 0)
    assert found.thread_over_jumps_m == pytest.approx(0.05)
    assert found.thread_length_m == pytest.approx(0.07)
    assert found.lengths.longest_mm == pytest.approx(1)
    assert any("0.05 m of the thread are carried" in note for note in found.notes)


@pytest.mark.parametrize("command", [pystitch.TRIM, pystitch.COLOR_CHANGE])
def test_a_cut_and_a_new_colour_end_the_thread(command: int) -> None:
    found = measured(carried((command, 10), (pystitch.JUMP, 60)))
    assert found.thread_length_m == pytest.approx(0.02)
    assert found.trims == (command == pystitch.TRIM)


def test_a_second_trim_cuts_nothing() -> None:
    trim_and_jump = ((pystitch.TRIM, 10), (pystitch.JUMP, 35))
    assert measured(carried(*trim_and_jump, *trim_and_jump)).trims == 1


def test_stops_leave_the_thread_as_it_is() -> None:
    found = measured(carried((pystitch.STOP, 10)))
    assert found.stops == 1
    assert found.thread_length_m == pytest.approx(0.07)


def test_trims_that_are_not_recorded_are_not_nought() -> None:
    found = measured(three_blocks(), "sew")
    assert found.trims is None
    assert found.as_json()["trims"] is None
    assert any("cannot be said" in note for note in found.notes)


def test_short_stitches_are_counted_below_1_mm_and_not_at_it() -> None:
    places = [(0.0, 0.0), (1.0, 0.0), (1.9, 0.0), (2.4, 0.0), (5.4, 0.0), (17.5, 0.0)]
    lengths = measured(pattern_of(places)).lengths
    assert lengths.short == 2
    assert lengths.short_share == pytest.approx(2 / 5)
    told = dict(zip(LENGTH_EDGES_MM, lengths.counts, strict=True))
    assert {edge: count for edge, count in told.items() if count} == {
        0.5: 2,
        1.0: 1,
        3.0: 1,
        12.1: 1,
    }


def test_layers_of_a_fill_are_thread_width_over_spacing() -> None:
    fill = plain_fill(width=40, height=40, spacing=0.4, stitch=4)
    once, twice = measured(pattern_of(fill)), measured(pattern_of(fill, fill))
    # Thread every 0.4 mm, 0.4 mm wide, is one layer; turns at the edges lie on the edge.
    assert once.layers == pytest.approx(1, rel=0.03)
    assert twice.layers == pytest.approx(2, rel=0.03)
    assert twice.sewn_area_cm2 == pytest.approx(once.sewn_area_cm2)


def test_more_than_three_layers_are_warned_of() -> None:
    fill = plain_fill(width=20, height=20, spacing=0.4, stitch=4)
    assert "layers of thread" in measured(pattern_of(*[fill] * 4)).notes[0]
    assert "layers of thread" not in measured(pattern_of(fill)).notes[0]


def test_density_of_places() -> None:
    found = measured(pattern_of(plain_fill(width=40, height=40, spacing=0.4, stitch=4)))
    at = found.density.at(np.array([[20.0, 20.0], [500.0, 0.0], [-9.0, -9.0]]))
    assert at.tolist() == [pytest.approx(1 / 1.6, rel=0.01), 0, 0]


def test_the_contract_of_the_json() -> None:
    told = json.loads(json.dumps(measured(three_blocks(), "dst").as_json(), allow_nan=False))
    assert (told["file"], told["stitches"], told["colour_changes"]) == ("a.dst", 180, 2)
    assert (told["width_mm"], told["height_mm"]) == (33.0, 23.6)
    assert told["trims"] == 3
    assert set(told["density"]) >= {"mean", "densest_cm2", "densest_at_mm"}
    cells = told["cells"]
    grid = cells["penetrations"]
    assert (len(grid), len(grid[0])) == (cells["rows"], cells["columns"])
    assert sum(map(sum, grid)) == 180
    assert cells["origin_mm"] == [5.0, 4.0]
    assert told["density"]["mean"] == pytest.approx(180 / (told["sewn_area_cm2"] * 100))


def test_the_densest_place_is_found() -> None:
    patch = [(x + 40, y + 60) for x, y in plain_fill(width=14, height=14, spacing=0.3, stitch=1)]
    ground = plain_fill(width=100, height=100, spacing=0.5, stitch=4)
    x, y = measured(pattern_of(ground, patch)).density.densest_at_mm
    assert math.dist((x, y), (47, 67)) < 3.5


def test_the_square_of_an_even_disc_lies_in_its_middle() -> None:
    fill = plain_fill(width=44, height=44, spacing=0.4, stitch=0.8)
    disc = [(x, y) for x, y in fill if math.dist((x, y), (22, 22)) <= 22]
    grid = measured(pattern_of(disc)).density
    assert math.dist(grid.densest_at_mm, (22, 22)) <= 4
    # The figure stays that of the highest square; the framed one is as dense but for a row.
    assert grid.densest == grid.around.max()
    assert grid.at(np.array([grid.densest_at_mm]))[0] >= 0.98 * grid.densest


def test_the_finding_says_it_in_words() -> None:
    said = measured(pattern_of(plain_fill(width=40, height=40, spacing=0.4, stitch=4))).finding()
    assert "stitches in 1 colour, 40.0 by 40.0 mm." in said
    assert "(open)" in said
    assert "mm right and" in said
