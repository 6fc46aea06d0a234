"""The columns of a run sheet: names, types, units and limits, declared once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import polars as pl

from logbook.vocabulary.backings import BACKING_SHADES, BACKINGS
from logbook.vocabulary.choices import ChoiceList
from logbook.vocabulary.defects import DEFECT_KINDS, DefectKind
from logbook.vocabulary.fabrics import FABRIC_SHADES
from logbook.vocabulary.hoopings import HOOPINGS
from logbook.vocabulary.needles import NEEDLE_POINTS
from logbook.vocabulary.stages import SEEN_AT
from logbook.vocabulary.toppings import TOPPINGS

ColumnType = Literal["text", "choice", "integer", "number", "boolean", "moment"]
Part = Literal["identity", "job", "fabric", "backing", "setup", "counts", "outcome"]

LONGEST_TEXT = 200
LONGEST_NOTES = 5000
MOST = 1_000_000_000
"""No count of one run can be larger; a cell that says so holds a slip of the keyboard."""

DTYPES: Mapping[ColumnType, pl.DataType] = {
    "text": pl.String(),
    "choice": pl.String(),
    "integer": pl.Int64(),
    "number": pl.Float64(),
    "boolean": pl.Boolean(),
    "moment": pl.Datetime("us"),
}


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the run sheet.

    ``lowest`` and ``highest`` are the inclusive limits of what can be true; ``above`` is an
    exclusive lower limit. ``open_list`` marks text whose spellings are matched to known ones.
    """

    name: str
    label: str
    type: ColumnType
    part: Part
    unit: str | None = None
    lowest: float | None = None
    highest: float | None = None
    above: float | None = None
    choices: ChoiceList | None = None
    open_list: bool = False
    longest: int = LONGEST_TEXT

    @property
    def dtype(self) -> pl.DataType:
        """The Polars type in which the column is kept."""
        return DTYPES[self.type]


def _open(name: str, label: str, part: Part) -> Column:
    return Column(name, label, "text", part, open_list=True)


def _choice(name: str, label: str, part: Part, choices: ChoiceList) -> Column:
    return Column(name, label, "choice", part, choices=choices)


def _count(name: str, label: str, part: Part = "counts", unit: str | None = "pieces") -> Column:
    return Column(name, label, "integer", part, unit=unit, lowest=0, highest=MOST)


def kind_column(kind: DefectKind) -> Column:
    """The outcome column of one defect kind."""
    unit = "pieces" if kind.measure == "pieces" else "events"
    return _count(kind.name, kind.label, "outcome", unit)


COLUMNS: tuple[Column, ...] = (
    Column("run_ref", "Run reference", "text", "identity", longest=100),
    Column("finished_at", "Finished", "moment", "identity"),
    _open("site", "Site", "identity"),
    _open("machine", "Machine", "identity"),
    _open("operator", "Operator", "identity"),
    _open("job", "Job", "job"),
    _open("design", "Design", "job"),
    Column("design_version", "Design version", "text", "job", longest=64),
    _open("thread", "Thread", "job"),
    Column("head_count", "Heads that ran", "integer", "job", "heads", lowest=1, highest=1000),
    _open("fabric", "Fabric", "fabric"),
    _choice("fabric_shade", "Fabric shade", "fabric", FABRIC_SHADES),
    Column("fabric_sheer", "Sheer fabric", "boolean", "fabric"),
    _choice("backing", "Backing", "backing", BACKINGS),
    Column("backing_gsm", "Backing weight", "number", "backing", "g/m²", above=0, highest=1000),
    Column("backing_layers", "Backing layers", "integer", "backing", "layers", lowest=0, highest=6),
    _choice("backing_shade", "Backing shade", "backing", BACKING_SHADES),
    _open("backing_supplier", "Backing supplier", "backing"),
    _open("backing_lot", "Backing lot", "backing"),
    _choice("topping", "Topping", "setup", TOPPINGS),
    _choice("hooping", "Hooping", "setup", HOOPINGS),
    Column("needle_nm", "Needle size", "integer", "setup", "Nm", lowest=55, highest=120),
    _choice("needle_point", "Needle point", "setup", NEEDLE_POINTS),
    Column("speed_spm", "Speed", "number", "setup", "stitches a minute", lowest=50, highest=2000),
    Column(
        "density", "Stitch density", "number", "setup", "stitches per mm²", above=0, highest=100
    ),
    Column("row_spacing_mm", "Row spacing", "number", "setup", "mm", lowest=0.1, highest=3),
    Column(
        "stitches_per_piece", "Stitches per piece", "integer", "counts", "stitches", 1, highest=MOST
    ),
    Column("stitches_sewn", "Stitches sewn", "number", "counts", "stitches", above=0, highest=1e12),
    _count("pieces_sewn", "Pieces sewn"),
    _count("pieces_inspected", "Pieces inspected"),
    _count("pieces_spoiled", "Pieces spoiled"),
    _count("pieces_reworked", "Pieces reworked"),
    _count("pieces_defective", "Pieces with any defect"),
    Column("rework_minutes", "Rework time", "number", "counts", "minutes", 0, highest=1e6),
    Column("run_minutes", "Run time", "number", "counts", "minutes", 0, highest=1e6),
    *(kind_column(kind) for kind in DEFECT_KINDS),
    Column("needle_parts_found", "All needle parts found", "boolean", "outcome"),
    _choice("seen_at", "Judged when", "outcome", SEEN_AT),
    Column("pucker_grade", "Pucker grade", "number", "outcome", "1 to 5", lowest=1, highest=5),
    Column("notes", "Notes", "text", "outcome", longest=LONGEST_NOTES),
)

WEIGHT_IN_OUNCES = Column(
    "backing_oz_yd2", "Backing weight", "number", "backing", "oz/yd²", above=0, highest=30
)
"""Understood on the way in, kept as ``backing_gsm``."""

EXPOSURES: tuple[str, ...] = ("pieces_inspected", "pieces_sewn", "stitches_sewn")
OTHER_OUTCOMES: tuple[str, ...] = (
    "pieces_spoiled",
    "pieces_reworked",
    "pieces_defective",
    "pucker_grade",
)


def columns_with(own_kinds: Sequence[DefectKind] = ()) -> tuple[Column, ...]:
    """All columns of a shop's run sheet: the common ones, then its own kinds."""
    return COLUMNS + tuple(kind_column(kind) for kind in own_kinds)


def run_schema(own_kinds: Sequence[DefectKind] = ()) -> dict[str, pl.DataType]:
    """Names and Polars types of a run frame, in the sheet's order."""
    return {column.name: column.dtype for column in columns_with(own_kinds)}


def outcome_columns(own_kinds: Sequence[DefectKind] = ()) -> tuple[str, ...]:
    """The columns of which a run sheet must have at least one."""
    kinds = tuple(kind.name for kind in (*DEFECT_KINDS, *own_kinds))
    return kinds + OTHER_OUTCOMES
