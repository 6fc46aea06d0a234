"""Trims are inferred as the reading library infers them, in one pass."""

from __future__ import annotations

import copy

import pystitch
from hypothesis import given
from hypothesis import strategies as st

from logbook.stitches.records import with_trims

COMMANDS = (
    pystitch.STITCH,
    pystitch.JUMP,
    pystitch.JUMP,
    pystitch.TRIM,
    pystitch.COLOR_CHANGE,
    pystitch.STOP,
    pystitch.SEQUIN_EJECT,
)
STEP = st.integers(-20, 20)
RECORDS = st.lists(st.tuples(st.sampled_from(COMMANDS), STEP, STEP), max_size=60)


@given(
    records=RECORDS,
    jumps=st.one_of(st.none(), st.integers(1, 4)),
    distance=st.one_of(st.none(), st.integers(5, 40)),
    clip=st.booleans(),
)
def test_the_same_records_as_the_library_makes(
    records: list[tuple[int, int, int]], jumps: int | None, distance: int | None, clip: bool
) -> None:
    pattern = pystitch.EmbPattern()
    for command, dx, dy in records:
        pattern.add_stitch_relative(command, dx, dy)
    mine = with_trims(copy.deepcopy(pattern.stitches), jumps=jumps, distance=distance, clip=clip)
    pattern.interpolate_trims(jumps, distance, clip)
    assert mine == pattern.stitches


def test_three_jumps_are_a_trim_and_two_are_not() -> None:
    def sewn(jumps: int) -> list[int]:
        records = [[0, 0, pystitch.STITCH]]
        records += [[10 * n, 0, pystitch.JUMP] for n in range(1, jumps + 1)]
        records += [[100, 0, pystitch.STITCH]]
        return [record[2] for record in with_trims(records, jumps=3, distance=None, clip=True)]

    assert pystitch.TRIM not in sewn(2)
    assert sewn(3)[1] == pystitch.TRIM


def test_a_hundred_thousand_jumps_that_lead_nowhere_take_no_time() -> None:
    # The library's way deletes from the front of the list each time: hours for such a file.
    records = [[0, 0, pystitch.JUMP] for _ in range(100_000)]
    assert with_trims(records, jumps=3, distance=None, clip=True) == []
