"""Marks of defects held against stitch density, in words and as JSON."""

from __future__ import annotations

import json

import numpy as np
import polars as pl
import pytest

from logbook.errors import TooLittleData
from logbook.questions.places.analyse import analyse
from logbook.questions.places.words import FEWEST_RUNS, headline, kind_said

STITCHES = np.linspace(1.0, 8.0, 2000)
LABELS = {"puckering": "Puckering", "gaps": "Gaps"}


def _marks(**densities: list[float]) -> pl.DataFrame:
    return pl.DataFrame(
        [
            {"kind": kind, "run_ref": f"R-{place}", "density": density}
            for kind, all_densities in densities.items()
            for place, density in enumerate(all_densities)
        ],
        schema={"kind": pl.String, "run_ref": pl.String, "density": pl.Float64},
    )


def test_marks_in_dense_places_are_said_so() -> None:
    random = np.random.default_rng(2)
    dense = [*random.uniform(7.4, 8.0, 22), *random.uniform(1.0, 7.2, 14)]
    spread = list(random.choice(STITCHES, 30))
    result = analyse(
        _marks(puckering=dense, gaps=spread),
        stitch_density=STITCHES,
        design="Crest",
        labels=LABELS,
    )
    puckering, gaps = result.kinds
    assert headline(result) == kind_said(puckering)
    assert kind_said(puckering).startswith(
        "Puckering sits in the densest tenth of this design: 61 % of 36 marks from 36 runs ("
    )
    assert kind_said(puckering).endswith("which hold 10 % of the stitches.")
    assert "Gaps shows no leaning" in kind_said(gaps)
    told = json.loads(json.dumps(result.as_json()))
    assert [each["leans"] for each in told["kinds"]] == [True, False]
    low, high = told["kinds"][0]["interval"]
    assert low < 22 / 36 < high
    assert result.table().height == 2


def test_of_open_places_nothing_is_claimed() -> None:
    result = analyse(
        _marks(gaps=[1.2 + place / 50 for place in range(12)]),
        stitch_density=STITCHES,
        design="Crest",
        labels=LABELS,
    )
    assert result.kinds[0].leans is False
    assert "shows no leaning to dense places" in headline(result)


def test_few_runs_are_too_early() -> None:
    marks = _marks(gaps=[7.9] * (FEWEST_RUNS - 1))
    result = analyse(marks, stitch_density=STITCHES, design="Crest", labels=LABELS)
    assert result.kinds[0].leans is None
    assert headline(result).startswith("Gaps: 100 % of 5 marks from 5 runs")


def test_many_marks_of_one_run_are_one_run() -> None:
    marks = _marks(gaps=[7.9] * 40).with_columns(run_ref=pl.lit("R-1"))
    result = analyse(marks, stitch_density=STITCHES, design="Crest", labels=LABELS)
    assert result.kinds[0].leans is None
    assert "40 marks from 1 run" in headline(result)


def test_no_marks_is_said() -> None:
    with pytest.raises(TooLittleData, match="No places of defects are marked on Crest"):
        analyse(_marks(), stitch_density=STITCHES, design="Crest", labels=LABELS)


def test_an_evenly_dense_design_tells_nothing_of_density() -> None:
    random = np.random.default_rng(7)
    even = random.uniform(3.0, 3.1, 2000)
    marks = list(random.uniform(3.09, 3.1, 24))
    result = analyse(_marks(gaps=marks), stitch_density=even, design="Disc", labels=LABELS)
    assert result.kinds[0].leans is None
    assert headline(result).startswith("Disc is about as dense everywhere")
    assert "24 marks from 24 runs" in kind_said(result.kinds[0])
    assert "tells nothing" in kind_said(result.kinds[0])
