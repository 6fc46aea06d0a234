"""How long a design of 100,000 stitches takes to measure, beside reading it and plain counting.

By hand: ``pytest tests/benchmarks/bench_measure.py -s``. Machines differ, so it is the ratios that
tell something; nothing here fails for being slow.
"""

from __future__ import annotations

import io
import sys
import time
from collections.abc import Callable

import numpy as np
import pystitch
import pytest
from stitch_files import pattern_of, plain_fill, written

from logbook.charts.design import draw
from logbook.stitches import design_of, measure

pytestmark = pytest.mark.benchmark

BEST_OF = 5
ENDINGS = ("dst", "pes", "exp")


def best(work: Callable[[], object]) -> float:
    """Seconds of the fastest of a few goes."""
    times = []
    for _ in range(BEST_OF):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


@pytest.mark.parametrize("ending", ENDINGS)
def test_a_hundred_thousand_stitches(ending: str) -> None:
    fill = plain_fill(width=200, height=800, spacing=0.4, stitch=4, stagger=0.25)
    content = written(pattern_of(fill[:100_000]), ending)
    reader = next(
        known["reader"] for known in pystitch.supported_formats() if known["extension"] == ending
    )

    def plainly_read() -> None:
        reader.read(io.BytesIO(content), pystitch.EmbPattern(), None)

    design = design_of(content, file_name=f"a.{ending}")
    points = design.needle_points_mm
    found = measure(design)
    edges = [np.arange(0, size + 2) for size in (found.height_mm, found.width_mm)]
    seconds = {
        "the library reads": best(plainly_read),
        "read and checked": best(lambda: design_of(content, file_name=f"a.{ending}")),
        "measured": best(lambda: measure(design)),
        "np.histogram2d": best(lambda: np.histogram2d(points[:, 1], points[:, 0], bins=edges)),
        "JSON made": best(found.as_json),
        "drawn": best(lambda: draw(found)),
    }
    measured = seconds["measured"]
    sys.stdout.write(f"\n.{ending}, {found.stitches:,} stitches, {len(content):,} bytes\n")
    for what, took in seconds.items():
        beside = f"measuring is {measured / took:5.2f} times that"
        sys.stdout.write(f"  {what:20} {took * 1000:8.1f} ms   {beside}\n")
