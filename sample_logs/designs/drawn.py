"""The designs of which the shop still has the stitch files, drawn stroke by stroke.

The simulator drew each design's density and stitches by lot before anybody drew the design; here
stitch lengths and sizes are chosen so that both come out near what the run sheets say. Densities
of five and more need several layers: a ground, a second fill across it, and satin on top.
"""

from __future__ import annotations

from itertools import pairwise

from sample_logs.designs.letters import lettered
from sample_logs.designs.sewing import Sewing
from sample_logs.designs.strokes import (
    disc,
    fill,
    rectangle,
    ring,
    running,
    satin,
    shield,
    turned,
)


def heron_crest() -> Sewing:
    """A shield with a ground, a dense emblem, a satin edge and a name."""
    spacing = 0.39
    sewing = Sewing()
    ground = shield(0, 25, -30, 34)
    sewing.thread("#1f3b63", "navy")
    sewing.sew_apart(
        [
            fill(ground, -30, 34, spacing=2.4, stitch=3.0),
            fill(ground, -30, 34, spacing=spacing, stitch=2.05),
        ]
    )
    sewing.thread("#d9dde2", "silver")
    sewing.sew_apart(
        [
            turned(fill(rectangle(-16, -2), -7, 7, spacing=spacing, stitch=1.6)),
            *(
                satin((left, -16), (left, -2), width=0.95, spacing=spacing)
                for left in (-6.6 + 1.1 * column for column in range(13))
            ),
        ]
    )
    sewing.thread("#c9a227", "gold")
    edge = [(-25.0, -30.0), (25.0, -30.0), (25.0, -1.2), (16.5, 16.4), (0.0, 34.0)]
    edge += [(-16.5, 16.4), (-25.0, -1.2), (-25.0, -30.0)]
    sewing.sew_apart(
        [
            [
                place
                for start, end in pairwise(edge)
                for place in satin(start, end, width=2.2, spacing=spacing)
            ]
        ]
    )
    sewing.thread("#f4f1e8", "white")
    sewing.sew_apart(lettered("HERON", (-13, 3), height=6, pitch=5.4, width=1.2, spacing=spacing))
    return sewing


def harbour_lettering() -> Sewing:
    """Seven satin letters on a ribbon that is filled twice."""
    spacing = 0.41
    sewing = Sewing()
    sewing.thread("#0e5e6f", "teal")
    sewing.sew_apart(
        [
            fill(rectangle(-36.5, 36.5), -10, 10, spacing=spacing, stitch=1.25),
            turned(fill(rectangle(-10, 10), -36.5, 36.5, spacing=spacing, stitch=1.25)),
        ]
    )
    sewing.thread("#f4f1e8", "white")
    sewing.sew_apart(
        lettered("HARBOUR", (-31, -6), height=12, pitch=9.2, width=1.6, spacing=spacing)
    )
    return sewing


def beacon_small_mark() -> Sewing:
    """A small patch, filled twice across, with an outline of running stitches."""
    spacing = 0.43
    sewing = Sewing()
    sewing.thread("#8a1f2d", "red")
    round_patch = disc((0, 0), 21)
    sewing.sew_apart(
        [
            fill(round_patch, -21, 21, spacing=2.0, stitch=3.0),
            fill(round_patch, -21, 21, spacing=spacing, stitch=1.6),
            turned(fill(round_patch, -21, 21, spacing=spacing, stitch=1.6)),
            running(ring((0, 0), 22), stitch=2.5, times=3),
        ]
    )
    return sewing


def compass_roundel() -> Sewing:
    """Rings of running stitches round a small dense rose."""
    spacing = 0.42
    sewing = Sewing()
    sewing.thread("#2b2b2b", "black")
    sewing.sew_apart(
        running(ring((0, 0), radius), stitch=2.5, times=3)
        for radius in (30, 28.8, 27.6, 21, 19.8, 18.6, 17.4)
    )
    sewing.thread("#b5541c", "rust")
    sewing.sew_apart(
        [
            fill(disc((0, 0), 8), -8, 8, spacing=spacing, stitch=1.25),
            turned(fill(disc((0, 0), 8), -8, 8, spacing=spacing, stitch=1.25)),
        ]
    )
    return sewing
