"""Cells sorted by supplier and job: fabric, backing and weight, alike in a like-for-like check."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import polars as pl

from logbook.cells import of_kind, pool
from logbook.errors import AnalysisError, TooLittleData
from logbook.vocabulary.backings import BACKINGS, WEIGHT_BANDS
from logbook.vocabulary.defects import DefectKind

JOB = ("fabric", "backing", "weight_band")

CELLS_BY: tuple[str, ...] = ("backing_supplier", *JOB, "backing_lot")
"""What the cells must be grouped by."""

_BANDS = {band.name: band for band in WEIGHT_BANDS}


@dataclass(frozen=True, slots=True)
class Job:
    """Fabric, backing and weight band; None where not recorded, which is alike to itself."""

    fabric: str | None
    backing: str | None
    weight_band: str | None

    @property
    def order(self) -> tuple[str, str, float]:
        """Sorts by fabric, backing and rising weight; what is not recorded comes last."""
        band = _BANDS.get(self.weight_band or "")
        last = "\U0010ffff"
        return self.fabric or last, self.backing or last, band.lowest if band else float("inf")

    @property
    def recorded(self) -> bool:
        """Whether all three are known."""
        return None not in (self.fabric, self.backing, self.weight_band)

    def words(self) -> str:
        """Say it: ``pique polo on cut-away (light, 47 to 66 g/m²)``."""
        fabric = self.fabric or "fabric not recorded"
        backing = (
            f"{BACKINGS.label_of(self.backing).lower()}" if self.backing else "unrecorded backing"
        )
        band = _BANDS.get(self.weight_band or "")
        weight = f"{band.label[0].lower()}{band.label[1:]}" if band else "weight not recorded"
        return f"{fabric} on {backing} ({weight})"


@dataclass(frozen=True, slots=True)
class Counted:
    """Runs, what was at risk in them, and how often it happened."""

    runs: int = 0
    exposure: float = 0.0
    count: int = 0


@dataclass(frozen=True, slots=True)
class CountsByJob:
    """What was counted, by supplier and job.

    Attributes
    ----------
    jobs
        Supplier → job → what was counted; every exposure is above zero.
    lots
        Supplier → lots of backing that its runs name.
    unnamed
        Runs on backing whose supplier is not recorded, left out.
    without_backing
        Runs sewn without backing, left out.
    """

    jobs: Mapping[str, Mapping[Job, Counted]]
    lots: Mapping[str, int]
    unnamed: Counted
    without_backing: Counted

    def total_of(self, supplier: str) -> Counted:
        """All that was counted on a supplier's backing."""
        return total(self.jobs[supplier].values())

    def is_shared(self, supplier: str, job: Job, reference: str | None) -> bool:
        """Whether the reference has the job too; for the reference itself, whether any other."""
        if supplier != reference:
            return reference is not None and job in self.jobs[reference]
        return any(job in jobs for name, jobs in self.jobs.items() if name != reference)

    def shared_share(self, supplier: str, reference: str | None) -> float:
        """Share of a supplier's exposure that lies in jobs shared with the reference."""
        shared = total(
            cell
            for job, cell in self.jobs[supplier].items()
            if self.is_shared(supplier, job, reference)
        )
        return shared.exposure / self.total_of(supplier).exposure


def total(cells: Iterable[Counted]) -> Counted:
    """Add up what was counted."""
    listed = list(cells)
    return Counted(
        runs=sum(cell.runs for cell in listed),
        exposure=sum(cell.exposure for cell in listed),
        count=sum(cell.count for cell in listed),
    )


def count_by_job(cells: pl.DataFrame, *, kind: DefectKind, backing: str | None) -> CountsByJob:
    """Sort the cells by supplier and job.

    Parameters
    ----------
    cells
        Cells grouped by ``CELLS_BY`` or finer, of one kind or with a ``kind`` column.
    kind
        The kind wanted.
    backing
        One backing only, or None for all.

    Raises
    ------
    TooLittleData
        Nothing is left.
    AnalysisError
        A column is missing, or the backing cannot be compared.
    """
    if missing := [name for name in CELLS_BY if name not in cells.columns]:
        raise AnalysisError(f"Suppliers cannot be compared: the cells lack {missing[0]!r}.")
    _check_backing(backing)
    there = of_kind(cells, kind.name) if "kind" in cells.columns else cells
    there = there.filter(pl.col("exposure") > 0)
    if backing is not None:
        there = there.filter(pl.col("backing") == backing)
    if there.is_empty():
        on = f" on {BACKINGS.label_of(backing).lower()}" if backing else ""
        raise TooLittleData(
            f"{kind.label}: no {kind.counted_against}{on} with this recorded.",
            "Widen the dates, or check that the run sheets have a column for it.",
            needed=1,
            got=0,
            unit=kind.counted_against,
        )
    bare = pl.col("backing").eq_missing("none")
    compared = there.filter(~bare & pl.col("backing_supplier").is_not_null())
    return CountsByJob(
        jobs=_by_job(compared),
        lots=_lots(compared),
        unnamed=_sum(there.filter(~bare & pl.col("backing_supplier").is_null())),
        without_backing=_sum(there.filter(bare)),
    )


def _check_backing(backing: str | None) -> None:
    if backing is None:
        return
    if backing not in BACKINGS.values or backing == "none":
        able = ", ".join(value for value in BACKINGS.values if value != "none")
        raise AnalysisError(
            f"Suppliers cannot be compared on a backing called {backing!r}.",
            f"The backings are {able}.",
        )


def _by_job(cells: pl.DataFrame) -> dict[str, dict[Job, Counted]]:
    jobs: dict[str, dict[Job, Counted]] = {}
    for row in pool(cells, by=("backing_supplier", *JOB)).iter_rows(named=True):
        job = Job(row["fabric"], row["backing"], row["weight_band"])
        jobs.setdefault(row["backing_supplier"], {})[job] = Counted(
            int(row["runs"]), float(row["exposure"]), int(row["count"])
        )
    return jobs


def _lots(cells: pl.DataFrame) -> dict[str, int]:
    counted = cells.group_by("backing_supplier").agg(pl.col("backing_lot").drop_nulls().n_unique())
    return {supplier: int(lots) for supplier, lots in counted.iter_rows()}


def _sum(cells: pl.DataFrame) -> Counted:
    return Counted(
        int(cells["runs"].sum()), float(cells["exposure"].sum()), int(cells["count"].sum())
    )
