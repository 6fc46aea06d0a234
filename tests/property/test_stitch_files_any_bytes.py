"""No bytes whatever make reading and measuring raise anything but their own errors."""

from __future__ import annotations

import pystitch
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from stitch_files import pattern_of, plain_fill, three_blocks, written

from logbook.errors import StitchFileError
from logbook.stitches import design_of, measure

ENDINGS = sorted(
    known["extension"] for known in pystitch.supported_formats() if known.get("reader")
)
WRITERS = ("dst", "pes", "pec", "exp", "vp3", "jef", "u01", "tbf", "xxx", "sew", "json", "csv")
SLOW = [HealthCheck.too_slow]


@pytest.fixture(scope="module")
def whole() -> dict[str, bytes]:
    return {ending: written(three_blocks(), ending) for ending in WRITERS}


def survives(content: bytes, ending: str) -> None:
    try:
        found = measure(design_of(content, file_name=f"a.{ending}"))
    except StitchFileError:
        return
    assert found.stitches >= 2
    assert found.density.penetrations.sum() == found.stitches
    assert found.density.densest >= 0


@given(content=st.binary(max_size=1500), ending=st.sampled_from(ENDINGS))
@settings(max_examples=400, deadline=None, suppress_health_check=SLOW)
def test_any_bytes(content: bytes, ending: str) -> None:
    survives(content, ending)


@given(data=st.data(), ending=st.sampled_from(WRITERS))
@settings(max_examples=300, deadline=None, suppress_health_check=SLOW)
def test_a_file_with_bytes_changed(
    data: st.DataObject, ending: str, whole: dict[str, bytes]
) -> None:
    content = bytearray(whole[ending])
    for place in data.draw(st.lists(st.integers(0, len(content) - 1), min_size=1, max_size=12)):
        content[place] = data.draw(st.integers(0, 255))
    survives(bytes(content), ending)


@given(data=st.data(), ending=st.sampled_from(WRITERS), read_as=st.sampled_from(ENDINGS))
@settings(max_examples=300, deadline=None, suppress_health_check=SLOW)
def test_a_file_cut_short_and_one_with_another_ending(
    data: st.DataObject, ending: str, read_as: str, whole: dict[str, bytes]
) -> None:
    end = data.draw(st.integers(0, len(whole[ending])))
    survives(whole[ending][:end], ending)
    survives(whole[ending], read_as)


@given(
    dx=st.floats(-200, 200),
    dy=st.floats(-200, 200),
    width=st.floats(2, 40),
    height=st.floats(2, 40),
)
@settings(max_examples=40, deadline=None)
def test_moving_a_design_changes_nothing_but_its_place(
    dx: float, dy: float, width: float, height: float
) -> None:
    fill = plain_fill(width=round(width, 1), height=round(height, 1), spacing=0.4, stitch=3)
    # Whole millimetres: the grid moves along.
    move = (round(dx), round(dy))
    here, there = (
        measure(design_of(written(pattern_of(places), "csv"), file_name="a.csv"))
        for places in (fill, [(x + move[0], y + move[1]) for x, y in fill])
    )
    assert there.density.densest == pytest.approx(here.density.densest)
    assert there.density.penetrations.tolist() == here.density.penetrations.tolist()
    assert there.thread_length_m == pytest.approx(here.thread_length_m)
