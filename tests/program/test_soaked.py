"""A service asked by many for a while holds no more files and threads than at its beginning."""

from __future__ import annotations

from pathlib import Path

import pytest
from served import serving
from soaking import Look, soak

from logbook.store import new_book

SECONDS, RUNS = 6.0, 200
SLACK = 3
"""An import's own line and a thread or two for questions may be there at the end by chance."""


@pytest.mark.slow
def test_files_and_threads_do_not_grow(tmp_path: Path) -> None:
    place = tmp_path / "book"
    new_book(str(place)).close()
    with serving(place) as served:
        soaked = soak(
            served, seconds=SECONDS, loggers=4, look_every=0.1, sheet_every=1.2, at_least=RUNS
        )
    assert soaked.logged >= RUNS
    assert soaked.questions > 0
    assert soaked.sheets > 1
    third = len(soaked.looks) // 3
    middle, end = list(soaked.looks[third : 2 * third]), list(soaked.looks[2 * third :])
    assert _most(end, "files") <= _most(middle, "files") + SLACK
    assert _most(end, "threads") <= _most(middle, "threads") + SLACK


def _most(looks: list[Look], what: str) -> int:
    return max(getattr(look, what) for look in looks)
