"""Which lot a run's backing came from, where the sheet leaves it blank or says what cannot be.

A slip of the pen makes one lot many, each of which would count as a witness of its own. A run
whose lot is blank or doubted is taken to be of the lot that its supplier's backing was from at the
time: of the nearest run, by day, whose lot is not in doubt.
"""

from __future__ import annotations

import polars as pl

FEWEST_USES = 3
"""A lot written down less often than this may be a slip, where the others are used more often."""
LEAST_OF_MAIN_USE = 0.2
"""A number that is used far more often on other backing is taken to belong there."""
NEIGHBOURS = 3
"""A lot that is on none of so many runs before and after is out of its turn."""
MOST_DOUBTED = 1 / 3
"""Where more than this share of the lots looks doubtful, lots are used so there, not miswritten."""
SURE_OF_SUPPLIER = 0.9
"""A lot whose supplier is known in at least this share of its runs names it in the others."""

PAIR = ("backing_supplier", "backing")
_LOT = "backing_lot"


def lots_in_use(cells: pl.DataFrame) -> pl.DataFrame:
    """Put right what can be of suppliers and lots.

    Parameters
    ----------
    cells
        With ``backing_supplier``, ``backing``, ``backing_lot``, ``runs`` and ``day`` (ISO dates);
        in any order.

    Returns
    -------
    pl.DataFrame
        The same rows in the same order, with ``lot_unsure``: whether the lot was left blank or
        was not believed. Where no day or no lot is known nothing else is changed.
    """
    dated = "day" in cells.columns and cells["day"].null_count() < cells.height
    if not dated or cells[_LOT].null_count() == cells.height:
        return cells.with_columns(pl.col(_LOT).is_null().alias("lot_unsure"))
    rows = _suppliers_by_lot(cells).with_row_index("_row")
    rows = rows.with_columns(
        pl.col("day").cast(pl.String).str.to_date(strict=False).to_physical().alias("_day")
    )
    doubted = _out_of_turn(_doubted_by_use(rows))
    unsure = pl.col("_row").is_in(doubted.filter("_doubted")["_row"].implode())
    rows = rows.with_columns((pl.col(_LOT).is_null() | unsure).alias("lot_unsure"))
    found = _nearest(rows)
    return (
        rows.join(found, on="_row", how="left", maintain_order="left")
        .with_columns(
            pl.when("lot_unsure").then(pl.col("_in_use")).otherwise(pl.col(_LOT)).alias(_LOT)
        )
        .drop("_row", "_day", "_in_use")
    )


def _suppliers_by_lot(cells: pl.DataFrame) -> pl.DataFrame:
    """Name the supplier where a lot of that backing has been from a single one all along."""
    known = (
        cells.filter(pl.all_horizontal(pl.col(*PAIR, _LOT).is_not_null()))
        .group_by(_LOT, *PAIR)
        .agg(pl.col("runs").sum())
        .sort("runs", "backing_supplier", descending=[True, False])
        .group_by(_LOT, "backing", maintain_order=True)
        .agg(
            pl.col("backing_supplier").first().alias("_by_lot"),
            (pl.col("runs").first() / pl.col("runs").sum()).alias("_share"),
            pl.col("runs").first().alias("_uses"),
        )
        .filter((pl.col("_share") >= SURE_OF_SUPPLIER) & (pl.col("_uses") >= FEWEST_USES))
        .select(_LOT, "backing", "_by_lot")
    )
    return (
        cells.join(known, on=[_LOT, "backing"], how="left", maintain_order="left")
        .with_columns(pl.coalesce("backing_supplier", "_by_lot").alias("backing_supplier"))
        .drop("_by_lot")
    )


def _doubted_by_use(rows: pl.DataFrame) -> pl.DataFrame:
    """Rows that name a lot, with ``_doubted``: seldom used, or far more used elsewhere."""
    named = rows.filter(pl.col(_LOT).is_not_null()).select("_row", *PAIR, _LOT, "runs", "_day")
    uses = pl.col("runs").sum().over([*PAIR, _LOT])
    named = named.with_columns(uses.alias("_uses"))
    named = named.with_columns(pl.col("_uses").max().over(_LOT).alias("_main"))
    seldom = pl.col("_uses") < FEWEST_USES
    usual = (seldom.cast(pl.Float64) * pl.col("runs")).sum().over(PAIR) < MOST_DOUBTED * pl.col(
        "runs"
    ).sum().over(PAIR)
    elsewhere = pl.col("_uses") < LEAST_OF_MAIN_USE * pl.col("_main")
    return named.with_columns(((seldom & usual) | elsewhere).alias("_doubted"))


def _out_of_turn(named: pl.DataFrame) -> pl.DataFrame:
    """Doubt also lots that none of the runs next to theirs, of that supplier and backing, name."""
    sure = named.filter(~pl.col("_doubted")).sort("_day", "_row")
    beside = [
        (pl.col(_LOT).shift(step).over(PAIR) == pl.col(_LOT)).fill_null(False)
        for step in range(-NEIGHBOURS, NEIGHBOURS + 1)
        if step
    ]
    sure = sure.with_columns(pl.any_horizontal(beside).not_().alias("_alone"))
    usual = pl.col("_alone").mean().over(PAIR) < MOST_DOUBTED
    alone = sure.filter(usual & pl.col("_alone"))["_row"]
    return named.with_columns(pl.col("_doubted") | pl.col("_row").is_in(alone.implode()))


def _nearest(rows: pl.DataFrame) -> pl.DataFrame:
    """The lot in use at the time, ``_in_use``, of each ``_row`` whose own is unsure."""
    named = pl.all_horizontal(pl.col(*PAIR, "_day").is_not_null())
    asked = rows.filter(pl.col("lot_unsure") & named).select("_row", *PAIR, "_day")
    sure = rows.filter(~pl.col("lot_unsure") & named).select(
        *PAIR, "_day", pl.col(_LOT).alias("_in_use")
    )
    return (
        asked.sort("_day", "_row")
        .join_asof(
            sure.sort("_day", "_in_use"),
            on="_day",
            by=PAIR,
            strategy="nearest",
            check_sortedness=False,
        )
        .select("_row", "_in_use")
    )
