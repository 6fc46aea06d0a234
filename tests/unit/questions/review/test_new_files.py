"""A new stitch file of a design is told in the week in which it began to be sewn."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from run_frames import frame, run

from logbook.questions.review.changes import new_files
from logbook.questions.review.words.changes import change_sentence
from logbook.runs.designs import Design, DesignVersion

OLD = DesignVersion(
    "00112233445566aa", "a.dst", "dst", datetime(2026, 3, 1), 9000, 4, 80.0, 60.0, 45.0, 4.2, 6.5
)
NEW = replace(
    OLD,
    digest="ffeeddccbbaa9988",
    since=datetime(2026, 10, 7, 9),
    stitches=8200,
    density_densest=5.4,
)
CREST = Design("Crest", (OLD, NEW))
RUNS = frame(
    [
        run("R-1", design="Crest", design_version=OLD.digest, pieces_sewn=10),
        run("R-2", design="Crest", design_version=NEW.digest, pieces_sewn=30),
        run("R-3", design="Other", pieces_sewn=60),
    ]
)


def test_a_new_file_is_said_with_what_it_changed() -> None:
    [change] = new_files([CREST], RUNS, "2026-W41")
    assert change_sentence(change) == (
        "Design Crest has a new stitch file since Wednesday: 8,200 stitches instead of 9,000, "
        "5.4 stitches/mm² in the densest place instead of 6.5 (30 pieces sewn from it this week)."
    )
    assert (change.factor, change.what, change.share) == ("design_version", "new", 0.3)


def test_other_weeks_and_first_files_are_no_change() -> None:
    assert new_files([CREST], RUNS, "2026-W40") == ()
    assert new_files([CREST], RUNS, "2026-W42") == ()
    first = Design("Badge", (replace(NEW, digest="0" * 16),))
    assert new_files([first], RUNS, "2026-W41") == ()


def test_a_week_without_runs_is_told_too() -> None:
    [change] = new_files([CREST], RUNS.clear(), "2026-W41")
    assert change.pieces == 0
    assert "(no pieces sewn from it are recorded for this week)" in change_sentence(change)
