"""The shop's stitch files are those that the code draws, and near what the run sheets say."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.stitches import measure_file
from sample_logs.designs import DESIGNS, FOLDER, DrawnDesign
from sample_logs.shop import draw_designs
from sample_logs.simulate import SEED

SAID = {design.name: design for design in draw_designs(np.random.default_rng([SEED, 1]))}
EACH = pytest.mark.parametrize("drawn", DESIGNS, ids=[design.name for design in DESIGNS])


@EACH
def test_drawing_again_gives_the_same_bytes(drawn: DrawnDesign) -> None:
    assert (FOLDER / drawn.file_name).read_bytes() == drawn.content()


@EACH
def test_files_are_near_what_the_run_sheets_say(drawn: DrawnDesign) -> None:
    said, found = SAID[drawn.name], measure_file(FOLDER / drawn.file_name)
    assert found.density.densest == pytest.approx(said.density, rel=0.03)
    assert found.stitches == pytest.approx(said.stitches_per_piece, rel=0.03)
    assert found.lengths.short_share < 0.1


def test_no_file_without_a_design() -> None:
    kept = {path.name for path in FOLDER.iterdir() if path.suffix not in {".py", ""}}
    assert kept == {design.file_name for design in DESIGNS}
