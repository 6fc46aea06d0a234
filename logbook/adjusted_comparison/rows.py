"""Cells as the rows of the model: factors coded, what is not recorded a level of its own."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import polars as pl

from logbook.adjusted_comparison.lots import lots_in_use
from logbook.adjusted_comparison.terms import (
    DENSITY,
    LOT,
    MAIN_EFFECTS,
    RECURRING_DESIGNS,
    SUPPLIER,
)
from logbook.cells import of_kind
from logbook.errors import AnalysisError, TooLittleData
from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model import NO_LEVEL, Setups
from logbook.kernels.setup_model.levels import Estimate
from logbook.kernels.setup_model.setups import IntArray
from logbook.vocabulary.bands import DENSITY_BANDS
from logbook.vocabulary.defects import DefectKind

Bounds: TypeAlias = tuple[float, float]
UNKNOWN: Bounds = (math.nan, math.nan)

CELLS_BY: tuple[str, ...] = ("run_ref", "day", "month", "design", "backing_lot", *MAIN_EFFECTS)
"""What the cells must be grouped by: one cell a run, so that runs' own luck can be told."""
_NEEDED = CELLS_BY[2:]

RUNS_OF_A_DESIGN = 5
"""Runs that a design has on average, for backings to be compared within designs."""
STITCHES = 1000.0
"""Unit of exposure of event kinds in the model."""
FEWEST_COUNTED = 5
"""Defects (or events) that there must be in all for the model to say anything."""
_NOT_RECORDED = "\u0000"
_BAND_MIDDLES: Mapping[str, float] = {
    band.name: (band.lowest + band.below) / 2 if math.isfinite(band.below) else band.lowest + 1
    for band in DENSITY_BANDS
}
"""Of each density band, stitches/mm²; of the last, which is open above, a little over its edge."""
_MATCHED_ON: Mapping[str, tuple[str, ...]] = {
    "fabric": ("backing", "weight_band"),
    "backing": ("fabric", "weight_band"),
    "weight_band": ("fabric", "backing"),
    "backing_layers": ("fabric", "backing"),
    "backing_shade": ("fabric", "backing"),
    SUPPLIER: ("fabric", "backing"),
}
"""What must agree for levels of a factor to be compared; the fabric, where nothing is named."""
_BOUGHT = {SUPPLIER, "backing", "weight_band"}
"""Factors whose levels come in lots: another backing is another lot."""


@dataclass(frozen=True, slots=True, eq=False)
class CodedRows:
    """Rows of the model with the words behind their codes.

    Attributes
    ----------
    setups
        The rows; exposure of event kinds in thousands of stitches.
    levels
        Factor → word of each code; None where it was not recorded.
    lot_recorded
        For each code of the lot factor, whether it is a lot that was written down.
    lot_unsure
        (m,) whether the lot was left blank or was not believed.
    day
        (m,) days since 1970; NaN where not known.
    unit
        Pieces, or stitches, in one unit of exposure.
    """

    setups: Setups
    levels: Mapping[str, tuple[str | None, ...]]
    lot_recorded: tuple[bool, ...]
    lot_unsure: BoolArray
    day: FloatArray
    unit: float

    def code(self, factor: str, level: str | None) -> int:
        """Code of a word; ``NO_LEVEL`` where it does not occur."""
        words = self.levels[factor]
        return words.index(level) if level in words else NO_LEVEL

    def counted(self, factor: str, code: int) -> tuple[int, float, int]:
        """Runs sewn with a level, their exposure, and how often it happened in them."""
        own = self.setups.factors[factor] == code
        exposure = float(self.setups.trials[own].sum()) * self.unit
        return int(self.setups.runs[own].sum()), exposure, int(self.setups.count[own].sum())

    def interval(self, found: Estimate) -> Bounds:
        """Bounds of a rate or difference of the model, per piece or per stitch."""
        return found.lower / self.unit, found.upper / self.unit

    @property
    def varying(self) -> frozenset[str]:
        """What can have an effect that shows: factors with several levels, density, designs."""
        found = {name for name, words in self.levels.items() if len(words) > 1}
        if np.ptp(self.setups.slopes[DENSITY]) > 0:
            found.add(DENSITY)
        if self.setups.runs.sum() >= RUNS_OF_A_DESIGN * len(self.levels["design"]):
            found.add(RECURRING_DESIGNS)
        return frozenset(found)


def coded_rows(cells: pl.DataFrame, *, kind: DefectKind) -> CodedRows:
    """Code the cells of one kind.

    Parameters
    ----------
    cells
        Cells grouped by ``CELLS_BY``; with a ``kind`` column those of ``kind`` are taken. A cell
        of several runs (grouped without ``run_ref``) is taken as runs of one size.
    kind
        The kind.

    Returns
    -------
    CodedRows
        Runs without backing have neither supplier nor lot. Runs whose lot was left blank, or is
        not believed, take the lot in use at the time (:mod:`.lots`); where none is known they
        count as one lot for each supplier and backing: how many lots they were is not known,
        and taking them as many would claim more than the record shows.

    Raises
    ------
    TooLittleData
        Fewer than ``FEWEST_COUNTED`` defects, or a defect in every piece.
    AnalysisError
        The cells lack a column.
    """
    if missing := [name for name in _NEEDED if name not in cells.columns]:
        raise AnalysisError(f"Setups cannot be compared: the cells lack {missing[0]!r}.")
    there = of_kind(cells, kind.name) if "kind" in cells.columns else cells
    exposed = (there["exposure"] > 0).fill_null(False)
    there = there if exposed.all() else there.filter(exposed)
    counted = int(there["count"].sum())
    if counted < FEWEST_COUNTED:
        raise TooLittleData(
            f"{kind.label}: {counted} counted in all, too few to compare setups by.",
            "Widen the dates.",
            needed=FEWEST_COUNTED,
            got=counted,
            unit=kind.counted_against,
        )
    if kind.measure == "pieces" and counted >= float(there["exposure"].sum()):
        raise TooLittleData(
            f"{kind.label}: every piece counts, so that no setup can be told from another.",
            "Widen the dates, or check what is counted.",
            needed=1,
            got=0,
            unit="pieces without it",
        )
    unit = 1.0 if kind.measure == "pieces" else STITCHES
    named = _with_lots(lots_in_use(there))
    factors, levels = {}, {}
    for name in (*MAIN_EFFECTS, "month", "design", LOT):
        factors[name], levels[name] = _coded(named[name])
    trials = named["exposure"].to_numpy().astype(np.float64) / unit
    runs = named["runs"].to_numpy().astype(np.float64)
    setups = Setups(
        trials=trials,
        squares=trials**2 / runs,
        count=named["count"].to_numpy().astype(np.float64),
        runs=runs,
        factors=factors,
        slopes={DENSITY: _density(named["density_band"], trials)},
        measure=kind.measure,
    )
    recorded = tuple(not str(word).endswith(_NOT_RECORDED) for word in levels[LOT])
    return CodedRows(setups, levels, recorded, named["lot_unsure"].to_numpy(), _days(named), unit)


def _days(cells: pl.DataFrame) -> FloatArray:
    if "day" not in cells.columns:
        return np.full(cells.height, math.nan)
    days = cells["day"].cast(pl.String).str.to_date(strict=False).to_physical()
    return days.cast(pl.Float64).fill_null(math.nan).to_numpy()


def _with_lots(cells: pl.DataFrame) -> pl.DataFrame:
    """Name lots within supplier and backing; without backing there is neither lot nor supplier."""
    bare = pl.col("backing").eq_missing("none")
    parts = [pl.col(name).fill_null(_NOT_RECORDED) for name in (SUPPLIER, "backing", "backing_lot")]
    return cells.with_columns(
        pl.col(MAIN_EFFECTS).exclude(SUPPLIER).cast(pl.String).fill_null(_NOT_RECORDED),
        pl.col("month", "design").cast(pl.String).fill_null(_NOT_RECORDED),
        pl.when(~bare).then(pl.col(SUPPLIER).fill_null(_NOT_RECORDED)).alias(SUPPLIER),
        pl.when(~bare).then(pl.concat_str(parts, separator="\u0001")).alias(LOT),
    )


def _coded(words: pl.Series) -> tuple[IntArray, tuple[str | None, ...]]:
    """Codes in order of the words; null is no level, the mark of what is not recorded is one."""
    there = words.drop_nulls().unique().sort()
    codes = words.cast(pl.Enum(there)).to_physical().cast(pl.Int64)
    names = tuple(None if word == _NOT_RECORDED else str(word) for word in there)
    return codes.fill_null(NO_LEVEL).to_numpy().astype(np.intp), names


def density_slope(rows: CodedRows, band: str) -> float | None:
    """Value of the density slope for a band, no run of which need be on record.

    None where no density is recorded at all.
    """
    codes = rows.setups.factors["density_band"]
    for code, word in enumerate(rows.levels["density_band"]):
        own = codes == code
        if word is not None and own.any():
            centred = float(rows.setups.slopes[DENSITY][own][0])
            return centred + _BAND_MIDDLES[band] - _BAND_MIDDLES[word]
    return None


def _density(bands: pl.Series, trials: FloatArray) -> FloatArray:
    """Middle of each row's density band, stitches/mm², less the average; 0 where not recorded."""
    values = bands.replace_strict(
        _BAND_MIDDLES, default=math.nan, return_dtype=pl.Float64
    ).to_numpy()
    known = ~np.isnan(values)
    if not known.any():
        return np.zeros(values.size)
    return np.where(known, values - np.average(values[known], weights=trials[known]), 0.0)


def strata_for(rows: CodedRows, factor: str) -> IntArray:
    """Strata within which levels of a factor are compared, as one code a row.

    Rows that do not say their level are in no stratum: they may have had any, so that they are
    neither the level nor the others.
    """
    strata: IntArray = np.zeros(rows.setups.trials.size, dtype=np.intp)
    for name in _MATCHED_ON.get(factor, ("fabric",)):
        strata = strata * len(rows.levels[name]) + rows.setups.factors[name]
    unsaid = rows.code(factor, None)
    if unsaid == NO_LEVEL:
        return strata
    return np.where(rows.setups.factors[factor] == unsaid, NO_LEVEL, strata)


def renewed_with(factor: str) -> str | None:
    """The factor whose levels do not last where this one changes: another backing, another lot."""
    return LOT if factor in _BOUGHT else None


def slope_with(rows: CodedRows, factor: str) -> tuple[str | None, FloatArray | None]:
    """The measured quantity that goes with a factor, and its value at each of the levels."""
    if factor != "density_band":
        return None, None
    codes = rows.setups.factors[factor]
    values = np.zeros(len(rows.levels[factor]))
    values[codes] = rows.setups.slopes[DENSITY]
    return DENSITY, values
