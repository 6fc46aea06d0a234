"""Places of defects and breaks: kept, read back, and refused where they cannot be."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import RecordError
from logbook.runs.defect_locations import (
    MOST_LOCATIONS,
    BreakLocation,
    DefectLocation,
    RunLocations,
    locations_from,
)

PLACES = st.builds(
    DefectLocation,
    st.sampled_from(["puckering", "gaps"]),
    st.floats(-200, 200),
    st.floats(-200, 200),
)
BREAKS = st.builds(
    BreakLocation,
    st.just("thread_breaks"),
    st.none() | st.integers(1, 12),
    st.none() | st.integers(1, 15),
    st.none() | st.integers(1, 20),
    st.none() | st.integers(1, 100_000),
)


@given(
    st.lists(PLACES, max_size=8),
    st.lists(BREAKS, max_size=8),
    st.none() | st.just("Anchor"),
    st.none() | st.just("0123456789abcdef"),
)
def test_marks_come_back_as_they_were(
    places: list[DefectLocation],
    breaks: list[BreakLocation],
    design: str | None,
    version: str | None,
) -> None:
    marks = RunLocations("R-1", design, version, tuple(places), tuple(breaks))
    assert locations_from("R-1", design, json.loads(json.dumps(marks.plain()))) == marks


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"places": [{"kind": "gaps", "x_mm": float("nan"), "y_mm": 0.0}]}, "no place"),
        ({"places": [{"kind": "gaps", "x_mm": 1e9, "y_mm": 0.0}]}, "no place"),
        ({"places": [{"kind": "gaps"}]}, "not places"),
        ({"places": "here"}, "not places"),
        ({"places": [{"kind": "gaps", "x_mm": 0, "y_mm": 0}] * (MOST_LOCATIONS + 1)}, "more than"),
        ({"breaks": [{"kind": "thread_breaks", "head": 0}]}, "head 0"),
        ({"breaks": [{"kind": "thread_breaks", "colour_step": 9999}]}, "colour step 9999"),
        ({"breaks": [{"kind": "thread_breaks", "spool": 1}]}, "not places"),
    ],
)
def test_what_cannot_be_is_refused_in_words(told: dict[str, Any], said: str) -> None:
    with pytest.raises(RecordError, match=said) as refused:
        locations_from("R-1", None, told)
    assert refused.value.hint
