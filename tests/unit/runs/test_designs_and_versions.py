"""Designs: which version was sewn when, and designs named by their file."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime

import pytest

from logbook.runs.designs import Design, DesignVersion, design_from, named_by_file

FIRST = DesignVersion(
    "00112233445566aa",
    "crest.dst",
    "dst",
    datetime(2026, 3, 1),
    9000,
    4,
    80.0,
    60.0,
    45.0,
    4.2,
    6.5,
)
SECOND = DesignVersion(
    "ffeeddccbbaa9988",
    "crest b.pes",
    "pes",
    datetime(2026, 6, 1),
    8200,
    4,
    80.0,
    60.0,
    41.0,
    3.9,
    5.4,
    trims=7,
    needles=(1, 4, 2, 1, 3),
)
CREST = Design("Crest", (FIRST, SECOND))


def test_a_design_comes_back_as_it_was() -> None:
    assert design_from("Crest", json.loads(json.dumps(CREST.plain()))) == CREST


@pytest.mark.parametrize(
    ("moment", "version"),
    [
        (datetime(2026, 2, 28), None),
        (datetime(2026, 3, 1), FIRST),
        (datetime(2026, 5, 31, 23), FIRST),
        (datetime(2026, 6, 1), SECOND),
        (datetime(2027, 1, 1), SECOND),
    ],
)
def test_the_version_in_use_at_a_moment(moment: datetime, version: DesignVersion | None) -> None:
    assert CREST.sewn_at(moment) is version


@pytest.mark.parametrize(
    ("text", "version"),
    [
        ("00112233445566aa", FIRST),
        ("FFEEDDCCBBAA", SECOND),
        ("ffeeddccbbaa9988" + "0" * 48, SECOND),
        ("ffeeddccbba", None),
        ("ffeeddccbbaa00", None),
        ("Crest", None),
        ("", None),
    ],
)
def test_a_design_may_be_named_by_its_file(text: str, version: DesignVersion | None) -> None:
    found = named_by_file(text, [CREST])
    assert found == (None if version is None else (CREST, version))


def test_a_file_that_came_back_is_found_as_it_is_now() -> None:
    again = replace(FIRST, since=datetime(2026, 9, 1), needles=(4, 7))
    back = Design("Crest", (FIRST, SECOND, again))
    assert back.version(FIRST.digest) is again
    assert back.sewn_at(datetime(2026, 4, 1)) is FIRST
