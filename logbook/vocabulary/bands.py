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
