"""Setup factors: what a run was sewn with, as the analyses cut it and the pages name it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from logbook.vocabulary.backings import WEIGHT_BANDS
from logbook.vocabulary.bands import Band


@dataclass(frozen=True, slots=True)
class Factor:
    """One setup factor of the cells.

    ``cut_from`` and ``bands`` say which measured column of the run sheet a banded factor is cut
    from and how; both are empty for a factor that is a column of the run sheet itself.
    """

    column: str
    label: str
    unit: str | None = None
    cut_from: str | None = None
    bands: tuple[Band, ...] = ()


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

FACTORS: tuple[Factor, ...] = (
    Factor("fabric", "Fabric"),
    Factor("fabric_shade", "Fabric shade"),
    Factor("fabric_sheer", "Sheer fabric"),
    Factor("backing", "Backing"),
    Factor("weight_band", "Backing weight", "g/m²", "backing_gsm", WEIGHT_BANDS),
    Factor("backing_layers", "Backing layers"),
    Factor("backing_shade", "Backing shade"),
    Factor("backing_supplier", "Backing supplier"),
    Factor("backing_lot", "Backing lot"),
    Factor("topping", "Topping"),
    Factor("hooping", "Hooping"),
    Factor("needle_nm", "Needle size", "Nm"),
    Factor("needle_point", "Needle point"),
    Factor("speed_band", "Speed", "stitches a minute", "speed_spm", SPEED_BANDS),
    Factor("density_band", "Stitch density", "stitches/mm²", "density", DENSITY_BANDS),
    Factor("machine", "Machine"),
    Factor("operator", "Operator"),
    Factor("design", "Design"),
    Factor("site", "Site"),
)
