"""Runs take their design's version, density and stitches from the file that was sewn."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from run_frames import frame, run

from logbook.runs.designs import Design, DesignVersion
from logbook.runs.intake.sewn_designs import with_sewn_designs

OLD = DesignVersion(
    "00112233445566aa", "a.dst", "dst", datetime(2026, 9, 1), 9000, 4, 80.0, 60.0, 45.0, 4.2, 6.5
)
NEW = DesignVersion(
    "ffeeddccbbaa9988", "b.dst", "dst", datetime(2026, 10, 1), 8200, 4, 80.0, 60.0, 41.0, 3.9, 5.4
)
DESIGNS = (Design("Crest", (OLD, NEW)), Design("Badge", (OLD,)))
SEPTEMBER = datetime(2026, 9, 10)


@pytest.mark.parametrize(
    ("told", "version", "density", "stitches"),
    [
        ({"design": "Crest"}, NEW.digest, 5.4, 8200),
        ({"design": "Crest", "finished_at": SEPTEMBER}, OLD.digest, 6.5, 9000),
        ({"design": "Crest", "finished_at": datetime(2026, 8, 1)}, None, None, None),
        ({"design": "Crest", "density": 7.0}, NEW.digest, 7.0, 8200),
        ({"design": "Crest", "stitches_sewn": 1e6}, NEW.digest, 5.4, None),
        ({"design": "Crest", "design_version": OLD.digest}, OLD.digest, 6.5, 9000),
        ({"design": "Crest", "design_version": "hand-made"}, "hand-made", None, None),
        ({"design": "Other"}, None, None, None),
        ({"design": None}, None, None, None),
    ],
)
def test_a_run_is_filled_from_the_version_sewn(
    told: dict[str, Any], version: str | None, density: float | None, stitches: int | None
) -> None:
    filled = with_sewn_designs(frame([run("R-1", **told)]), DESIGNS).row(0, named=True)
    assert filled["design_version"] == version
    assert filled["density"] == density
    assert filled["stitches_per_piece"] == stitches


def test_a_design_named_by_its_file_gets_its_name() -> None:
    runs = frame([run("R-1", design=NEW.digest.upper()), run("R-2", design=NEW.digest + "0" * 48)])
    filled = with_sewn_designs(runs, DESIGNS)
    assert filled["design"].to_list() == ["Crest", "Crest"]
    assert filled["design_version"].to_list() == [NEW.digest] * 2


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["Crest", "Badge", "Other", OLD.digest, None]),
            st.datetimes(datetime(2026, 8, 1), datetime(2026, 12, 1)),
            st.none() | st.just(3.0),
        ),
        max_size=6,
    )
)
def test_filling_again_changes_nothing(rows: list[tuple[Any, ...]]) -> None:
    runs = frame(
        [
            run(f"R-{place}", design=design, finished_at=moment, density=density)
            for place, (design, moment, density) in enumerate(rows)
        ]
    )
    once = with_sewn_designs(runs, DESIGNS)
    assert with_sewn_designs(once, DESIGNS).equals(once)
    assert once.drop(["design", "design_version", "density", "stitches_per_piece"]).equals(
        runs.drop(["design", "design_version", "density", "stitches_per_piece"])
    )
    assert with_sewn_designs(runs, ()).equals(runs)
