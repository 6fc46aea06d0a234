"""THE table of columns of a run sheet: one row a column, and every face of the program reads it.

Form, import, filters, groupings, factors, advice, export, API and sample sheets take from here
what a column is called, what it may hold and what it is for. A new column is a row here and a
migration in ``store/migrations.py``.
"""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from logbook.runs.column import ASIDE_GROUP, MOST, FormGroup, Part, Role
from logbook.runs.column import LONGEST_TEXT as LONGEST_TEXT
from logbook.runs.column import Column as Column
from logbook.vocabulary.backings import BACKING_SHADES, BACKINGS, WEIGHT_BANDS
from logbook.vocabulary.bands import DENSITY_BANDS, NEEDLE_AGE_BANDS, SPEED_BANDS
from logbook.vocabulary.choices import Choice, ChoiceList
from logbook.vocabulary.defects import DEFECT_KINDS, DefectKind
from logbook.vocabulary.fabrics import FABRIC_SHADES
from logbook.vocabulary.needles import NEEDLE_POINTS
from logbook.vocabulary.own_columns import Own, OwnColumn
from logbook.vocabulary.setup_lists import HOOPINGS, SEEN_AT, TOPPINGS, WEEKDAYS

LONGEST_NOTES = 5000


def _open(
    name: str,
    label: str,
    part: Part,
    role: Role,
    form: FormGroup,
    *,
    factor: bool = True,
    headings: tuple[str, ...] = (),
    new_names_told: bool = False,
    where_used: bool = False,
    says: str = "",
) -> Column:
    return Column(
        name,
        label,
        "text",
        part,
        role,
        open_list=True,
        form=form,
        groupable=True,
        factor=factor,
        headings=headings,
        new_names_told=new_names_told,
        where_used=where_used,
        says=says,
    )


def _choice(choices: ChoiceList, part: Part, role: Role, form: FormGroup, *headings: str) -> Column:
    return Column(
        choices.column,
        choices.label,
        "choice",
        part,
        role,
        choices=choices,
        form=form,
        groupable=True,
        factor=True,
        headings=headings,
    )


def _pieces(
    name: str,
    label: str,
    role: Role,
    *headings: str,
    part: Part = "counts",
    unit: str = "pieces",
) -> Column:
    return Column(
        name,
        label,
        "integer",
        part,
        role,
        unit,
        lowest=0,
        highest=MOST,
        form="Counts",
        headings=headings,
    )


def kind_column(kind: DefectKind) -> Column:
    """The outcome column of one defect kind."""
    unit = "pieces" if kind.measure == "pieces" else "events"
    return _pieces(kind.name, kind.label, "outcome", *kind.headings, part="outcome", unit=unit)


def own_column(own: OwnColumn) -> Column:
    """A column that a shop has added: a closed list where it has choices, else an open one."""
    choices = tuple(Choice(each, each) for each in own.choices)
    return Column(
        own.name,
        own.label,
        "choice" if choices else "text",
        "job",
        "job",
        choices=ChoiceList(own.name, own.label, choices) if choices else None,
        open_list=not choices,
        form="Who and what",
        groupable=True,
    )


# fmt: off
# One row a column, kept by hand.
COLUMNS: tuple[Column, ...] = (
    Column("run_ref", "Run reference", "text", "identity", "identity", longest=100,
        headings=("reference",)),
    Column("finished_at", "Finished", "moment", "identity", "identity", form=ASIDE_GROUP,
        headings=("date", "day", "time", "finished"), says="Empty: just now, in the shop's time."),
    _open("site", "Site", "identity", "surroundings", "Who and what"),
    _open("machine", "Machine", "identity", "surroundings", "Machine", new_names_told=True),
    _open("operator", "Operator", "identity", "people", "Who and what", new_names_told=True),
    _open("shift", "Shift", "identity", "people", "Who and what", where_used=True),
    _open("job", "Job", "job", "job", "Who and what", factor=False, headings=("order",)),
    _open("customer", "Customer", "job", "job", "Who and what", factor=False, where_used=True,
        headings=("client",)),
    _open("design", "Design", "job", "job", "Who and what", factor=False),
    Column("design_version", "Design version", "text", "job", "job", longest=64, groupable=True),
    _open("thread", "Thread", "job", "job", "Who and what"),
    Column("head_count", "Heads that ran", "integer", "job", "surroundings", "heads", lowest=1,
        highest=1000, form="Who and what", groupable=True, headings=("heads",)),
    _open("fabric", "Fabric", "fabric", "job", "Fabric", new_names_told=True),
    _choice(FABRIC_SHADES, "fabric", "job", "Fabric", "shade"),
    Column("fabric_sheer", "Sheer fabric", "boolean", "fabric", "job", form="Fabric",
        groupable=True),
    _open("fabric_lot", "Fabric lot", "fabric", "job", "Fabric", factor=False, where_used=True),
    _choice(BACKINGS, "backing", "setup", "Backing"),
    Column("backing_gsm", "Backing weight", "number", "backing", "setup", "g/m²", above=0,
        highest=1000, form="Backing", groupable=True, factor=True, bands=WEIGHT_BANDS,
        band="weight_band", headings=("weight",), step=5.0),
    Column("backing_layers", "Backing layers", "integer", "backing", "setup", "layers", lowest=0,
        highest=6, form="Backing", groupable=True, factor=True, headings=("layers",)),
    _choice(BACKING_SHADES, "backing", "setup", "Backing"),
    _open("backing_supplier", "Backing supplier", "backing", "setup", "Backing",
        headings=("supplier",)),
    _open("backing_lot", "Backing lot", "backing", "setup", "Backing", factor=False,
        headings=("lot",)),
    _choice(TOPPINGS, "setup", "setup", "Machine setting"),
    _choice(HOOPINGS, "setup", "setup", "Machine setting"),
    Column("needle_nm", "Needle size", "integer", "setup", "setup", "Nm", lowest=55, highest=120,
        form="Machine setting", groupable=True, factor=True, headings=("needle",)),
    _choice(NEEDLE_POINTS, "setup", "setup", "Machine setting"),
    Column("needle_changed", "New needle", "boolean", "setup", "setup", form=ASIDE_GROUP,
        groupable=True, where_used=True,
        says="Yes where a new needle, or a new set of them, was fitted before this run."),
    Column("speed_spm", "Speed", "number", "setup", "setup", "stitches a minute", lowest=50,
        highest=2000, form="Machine setting", factor=True, bands=SPEED_BANDS, band="speed_band",
        headings=("speed",), step=10.0),
    Column("density", "Stitch density", "number", "setup", "job", "stitches per mm²", above=0,
        highest=100, form="Design", factor=True, bands=DENSITY_BANDS, band="density_band"),
    Column("row_spacing_mm", "Row spacing", "number", "setup", "job", "mm", lowest=0.1, highest=3,
        form="Design", step=0.05),
    Column("stitches_per_piece", "Stitches per piece", "integer", "counts", "job", "stitches",
        lowest=1, highest=MOST, form="Design", headings=("stitches",)),
    Column("stitches_sewn", "Stitches sewn", "number", "counts", "exposure", "stitches", above=0,
        highest=1e12),
    _pieces("pieces_sewn", "Pieces sewn", "exposure", "pieces", "quantity", "qty"),
    _pieces("pieces_inspected", "Pieces inspected", "exposure", "inspected"),
    _pieces("pieces_spoiled", "Pieces spoiled", "outcome", "spoiled"),
    _pieces("pieces_reworked", "Pieces reworked", "outcome"),
    _pieces("pieces_defective", "Pieces with any defect", "outcome", "defects"),
    Column("pieces_returned", "Pieces returned", "integer", "counts", "outcome", "pieces", lowest=0,
        highest=MOST, groupable=True, headings=("returned", "returns")),
    Column("rework_minutes", "Rework time", "number", "counts", "effort", "minutes", lowest=0,
        highest=1e6, form="Counts"),
    Column("run_minutes", "Run time", "number", "counts", "effort", "minutes", lowest=0,
        highest=1e6, form=ASIDE_GROUP, step=5.0),
    *(kind_column(kind) for kind in DEFECT_KINDS),
    Column("needle_parts_found", "All needle parts found", "boolean", "outcome", "safety",
        form="Counts", groupable=True),
    _choice(SEEN_AT, "outcome", "judging", "Judging"),
    Column("pucker_grade", "Pucker grade", "number", "outcome", "outcome", "1 to 5, in halves",
        lowest=1, highest=5, form=ASIDE_GROUP, step=0.5,
        says="The worst piece by the shop's own scale, 5 smooth. It follows the scale of ISO 7770 "
        "and AATCC TM 88B, which grade seams, not embroidery."),
    _open("trial", "Trial", "job", "job", "Who and what", factor=False, where_used=True),
    _open("trial_arm", "Arm of the trial", "job", "job", "Who and what", factor=False,
        where_used=True, headings=("arm",)),
    Column("notes", "Notes", "text", "outcome", "note", longest=LONGEST_NOTES, form=ASIDE_GROUP,
        headings=("remarks",)),
)
WEIGHT_IN_OUNCES = Column(
    "backing_oz_yd2", "Backing weight", "number", "backing", "setup", "oz/yd²", above=0, highest=30
)
"""Understood on the way in, kept as ``backing_gsm``."""

NEEDLE_AGE = Column(
    "needle_age_stitches", "Needle age", "number", "setup", "surroundings", "stitches a head",
    lowest=0, factor=True, bands=NEEDLE_AGE_BANDS, band="needle_age_band",
)
"""Stitches a head that the needle had sewn when the run began."""
MADE_COLUMNS: tuple[Column, ...] = (
    NEEDLE_AGE,
    Column("weekday", WEEKDAYS.label, "choice", "identity", "surroundings", choices=WEEKDAYS,
        groupable=True),
)
"""What the book makes of its runs: grouped by and shown, never written down."""
# fmt: on

EXPOSURES: tuple[str, ...] = tuple(each.name for each in COLUMNS if each.role == "exposure")


def columns_with(own: Sequence[Own] = ()) -> tuple[Column, ...]:
    """All columns of a shop's run sheet: the common ones, then its own columns and kinds."""
    return COLUMNS + tuple(
        own_column(each) if isinstance(each, OwnColumn) else kind_column(each) for each in own
    )


def run_schema(own: Sequence[Own] = ()) -> dict[str, pl.DataType]:
    """Names and Polars types of a run frame, in the sheet's order."""
    return {column.name: column.dtype for column in columns_with(own)}


def outcome_columns(own: Sequence[Own] = ()) -> tuple[str, ...]:
    """The columns of which a run sheet must have at least one."""
    return tuple(each.name for each in columns_with(own) if each.role == "outcome")


def open_lists(own: Sequence[Own] = ()) -> tuple[str, ...]:
    """Columns whose spellings are matched to those in use."""
    return tuple(each.name for each in columns_with(own) if each.open_list)


OPEN_LISTS = open_lists()
"""Those of every shop."""
