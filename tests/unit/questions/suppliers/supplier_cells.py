"""Cells and totals of an invented shop, written as short rows."""

import polars as pl

from logbook.questions.suppliers import words
from logbook.questions.suppliers.analyse import analyse
from logbook.shop import Shop
from logbook.vocabulary.defects import kind

SHOP = Shop()
PUCKERING = kind("puckering")

CELL = {
    "backing_supplier": pl.String,
    "fabric": pl.String,
    "backing": pl.String,
    "weight_band": pl.String,
    "backing_lot": pl.String,
    "runs": pl.Int64,
    "exposure": pl.Float64,
    "count": pl.Int64,
}

TOTAL = {
    "backing_supplier": pl.String,
    "backing": pl.String,
    "backing_gsm": pl.Float64,
    "backing_layers": pl.Int64,
    "pieces_sewn": pl.Int64,
    "pieces_spoiled": pl.Int64,
    "pieces_reworked": pl.Int64,
    "rework_minutes": pl.Float64,
}


def cells(*rows, **same):
    """Rows of supplier, fabric, count, exposure and anything that differs from the usual."""
    usual = {"backing": "cut_away", "weight_band": "light", "backing_lot": None, "runs": 1} | same
    return pl.DataFrame(
        [
            usual
            | {"backing_supplier": row[0], "fabric": row[1], "count": row[2], "exposure": row[3]}
            | (row[4] if len(row) > 4 else {})
            for row in rows
        ],
        schema=CELL,
    )


def totals(*rows):
    """Rows as mappings; what is not given was not recorded."""
    usual = {"backing_supplier": "Alder", "backing": "cut_away"}
    return pl.DataFrame([usual | row for row in rows], schema=TOTAL)


# On each fabric Birch has 1 point less than Alder; it sews most of the hard fabric.
REVERSAL = cells(
    ("Alder", "pique polo", 60, 3000.0, {"backing_lot": "A1", "runs": 60}),
    ("Alder", "jersey T-shirt", 60, 1000.0, {"backing_lot": "A2", "runs": 20}),
    ("Birch", "pique polo", 10, 1000.0, {"backing_lot": "B1", "runs": 21}),
    ("Birch", "jersey T-shirt", 140, 2800.0, {"backing_lot": "B1", "runs": 57}),
)


def compared(frame, **asked):
    """Compare by puckering in a shop without settings, unless told otherwise."""
    return analyse(frame, **{"kind": PUCKERING, "shop": SHOP} | asked)


def noted(result, said):
    """How many of the notes hold these words."""
    return sum(said in note for note in words.notes(result))


def row_of(result, supplier):
    """One supplier's row of the JSON."""
    return next(row for row in result.as_json()["suppliers"] if row["supplier"] == supplier)
