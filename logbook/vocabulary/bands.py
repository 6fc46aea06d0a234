"""Bands: a measured quantity cut into a few named steps, so that like is compared with like."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Band:
    """One step of a measured quantity, from ``lowest`` up to but not including ``below``."""

    name: str
    label: str
    lowest: float
    below: float


def band_of(value: float, bands: Sequence[Band]) -> Band | None:
    """Which band a measured value falls in.

    Parameters
    ----------
    value
        The measured quantity, in the unit that the bands are cut in.
    bands
        Bands in rising order.

    Returns
    -------
    Band or None
        The band with ``lowest <= value < below``; None where the value is not a number or
        lies outside all of them.
    """
    if math.isnan(value):
        return None
    return next((band for band in bands if band.lowest <= value < band.below), None)


# Speeds that the trade names: caps, metallics and small text to about 600; averages of 600 to
# 750; flats 750 and over; trouble on knits above about 850 (trade how-to pages, common practice).
SPEED_BANDS: tuple[Band, ...] = (
    Band("slow", "Slow, under 600 stitches a minute", 0.0, 600.0),
    Band("steady", "Steady, 600 to 750 stitches a minute", 600.0, 750.0),
    Band("brisk", "Brisk, 750 to 850 stitches a minute", 750.0, 850.0),
    Band("fast", "Fast, 850 stitches a minute and over", 850.0, math.inf),
)

# Density is that of the densest square centimetre, underlay and overlaps included. Two
# estimators' rules in trade price lists give the edges: 1,200 stitches to the square inch of
# open fill (1.9/mm²) and 2,000 of solid stitching (3.1/mm²); the upper edges are one and a
# half times and twice that, solid stitching with half a layer and a whole layer more on it.
DENSITY_BANDS: tuple[Band, ...] = (
    Band("open", "Open, under 1.9 stitches/mm²", 0.0, 1.9),
    Band("solid", "Solid, 1.9 to 3.1 stitches/mm²", 1.9, 3.1),
    Band("close", "Close, 3.1 to 4.7 stitches/mm²", 3.1, 4.7),
    Band("layered", "Layered, 4.7 to 6.2 stitches/mm²", 4.7, 6.2),
    Band("very_dense", "Very dense, 6.2 stitches/mm² and over", 6.2, math.inf),
)

# A needle is commonly changed after eight hours of sewing or about two million stitches, whichever
# comes first (common practice, no maker's figure: the maker's own directions go before it).
NEEDLE_AGE_BANDS: tuple[Band, ...] = (
    Band("new", "New, under 0.5 million stitches a head", 0.0, 0.5e6),
    Band("run_in", "Run in, 0.5 to 1 million stitches a head", 0.5e6, 1e6),
    Band("worn", "Worn, 1 to 2 million stitches a head", 1e6, 2e6),
    Band("overdue", "Overdue, 2 million stitches a head and over", 2e6, math.inf),
)
