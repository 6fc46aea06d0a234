"""A design written by the library's own writers, measured by the command."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from program import logbook, logbook_process
from stitch_files import COLOURS, pattern_of, plain_fill, three_blocks, written

from logbook.stitches import measure_bytes, measure_file

EXACT = ("dst", "pes", "pec", "exp", "vp3", "jef", "u01", "tbf", "xxx", "csv", "json")
WITH_COLOURS = ("pes", "vp3", "xxx", "tbf", "csv", "json")


def told(path: Path) -> dict[str, Any]:
    return json.loads(logbook("measure", str(path), "--json"))


@pytest.mark.parametrize("ending", EXACT)
def test_stitches_size_and_colours_are_those_that_were_written(ending: str, tmp_path: Path) -> None:
    path = tmp_path / f"blocks.{ending}"
    path.write_bytes(written(three_blocks(), ending))
    found = told(path)
    assert found["stitches"] == 180
    assert found["colour_changes"] == 2
    assert (found["width_mm"], found["height_mm"]) == (33.0, 23.6)
    assert (found["left_mm"], found["top_mm"]) == (5.0, 4.0)
    assert [step["stitches"] for step in found["steps"]] == [60, 60, 60]
    assert found["trims"] >= 3
    if ending in WITH_COLOURS:
        assert [step["colour"] for step in found["steps"]] == list(COLOURS)


@pytest.mark.parametrize("ending", EXACT)
def test_the_same_design_is_as_dense_in_every_file(ending: str, tmp_path: Path) -> None:
    fill = plain_fill(width=30, height=30, spacing=0.4, stitch=4, stagger=0.25)
    plain = measure_bytes(written(pattern_of(fill), "csv"), file_name="a.csv")
    found = measure_bytes(written(pattern_of(fill), ending), file_name=f"a.{ending}")
    assert found.density.densest == pytest.approx(plain.density.densest)
    assert found.density.penetrations.tolist() == plain.density.penetrations.tolist()
    assert found.thread_length_m == pytest.approx(plain.thread_length_m)


def test_the_command_answers_what_its_twin_does(tmp_path: Path) -> None:
    path = tmp_path / "blocks.pes"
    path.write_bytes(written(three_blocks(), "pes"))
    assert (
        json.loads(logbook_process("measure", str(path), "--json")) == measure_file(path).as_json()
    )
    words = " ".join(logbook("measure", str(path)).split())
    assert measure_file(path).finding() in words
    assert "Colour changes 2" in words


@pytest.mark.parametrize(
    ("name", "content"),
    [("empty.dst", b""), ("garbage.dst", b"\x00" * 4000), ("week.csv", b"a,b\n1,2\n")],
)
def test_what_is_no_design_is_refused_with_status_1(
    name: str, content: bytes, tmp_path: Path
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    refused = json.loads(logbook("measure", str(path), "--json", expect=1))
    assert refused["error"].startswith(name)
    assert refused["hint"]
    assert list(tmp_path.iterdir()) == [path]


def test_a_file_that_is_not_there_is_refused_with_status_1(tmp_path: Path) -> None:
    logbook("measure", str(tmp_path / "none.dst"), expect=1)
