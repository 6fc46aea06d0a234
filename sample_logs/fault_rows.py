"""The rows of the faulty sheet, each a good run spoilt in one way, and what should become of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

__all__ = ["COLUMNS", "ROWS", "FaultRow"]

COLUMNS: tuple[str, ...] = (
    "run_ref",
    "finished_at",
    "machine",
    "operator",
    "job",
    "design",
    "head_count",
    "fabric",
    "fabric_shade",
    "fabric_sheer",
    "backing",
    "backing_gsm",
    "backing_layers",
    "backing_supplier",
    "topping",
    "needle_nm",
    "speed_spm",
    "stitches_sewn",
    "pieces_sewn",
    "pieces_inspected",
    "pieces_spoiled",
    "pieces_reworked",
    "pieces_defective",
    "rework_minutes",
    "puckering",
    "gaps",
    "thread_breaks",
    "needle_breaks",
    "needle_parts_found",
    "pucker_grade",
    "notes",
)

Outcome = Literal["good", "reject", "skip"]


@dataclass(frozen=True, slots=True)
class FaultRow:
    """One row: what it tests, the cells that differ from a good run, the outcome to expect.

    ``columns`` are those that a reason may name, the likeliest first; none where the fault is the
    row's and not a cell's. ``notes`` replaces the plain words in the sheet's own notes cell.
    """

    tests: str
    outcome: Outcome = "good"
    columns: tuple[str, ...] = ()
    cells: Mapping[str, str] = field(default_factory=dict)
    notes: str | None = None
    extra: tuple[str, ...] = ()
    """Cells beyond the last column."""
    blank: Literal["", "cells", "line"] = ""
    """An empty row: of empty cells, or a line with nothing on it."""
    held: bool = False
    """A good row that is held back because needle parts are missing."""


def _good(tests: str, notes: str | None = None, *, held: bool = False, **cells: str) -> FaultRow:
    return FaultRow(tests, cells=cells, notes=notes, held=held)


def _bad(tests: str, *columns: str, **cells: str) -> FaultRow:
    return FaultRow(tests, "reject", columns, cells)


NO_PIECES = {
    "pieces_sewn": "",
    "pieces_inspected": "",
    "pieces_spoiled": "",
    "pieces_reworked": "",
    "pieces_defective": "",
    "puckering": "",
    "gaps": "",
    "rework_minutes": "",
}

ROWS: tuple[FaultRow, ...] = (
    _good("a plain good run"),
    _good(
        "a good run with no defect at all",
        pieces_defective="0",
        pieces_reworked="0",
        rework_minutes="0",
        puckering="0",
        gaps="0",
    ),
    _bad("a negative count", "puckering", puckering="-1"),
    _bad("more puckered pieces than inspected", "puckering", "pieces_inspected", puckering="25"),
    _bad("more inspected than sewn", "pieces_inspected", "pieces_sewn", pieces_inspected="30"),
    _bad(
        "spoiled and reworked together more than sewn",
        "pieces_spoiled",
        "pieces_reworked",
        "pieces_sewn",
        pieces_spoiled="14",
        pieces_reworked="13",
    ),
    _bad(
        "more defective than inspected",
        "pieces_defective",
        "pieces_inspected",
        pieces_inspected="10",
        pieces_defective="11",
    ),
    _bad("a word where a number belongs", "pieces_sewn", pieces_sewn="two dozen"),
    _bad("a fraction of a piece", "pieces_sewn", pieces_sewn="23.5"),
    _bad("a date with the day first", "finished_at", finished_at="31/10/2026"),
    _bad("no date", "finished_at", finished_at=""),
    _bad("a day that does not exist", "finished_at", finished_at="2026-02-30"),
    _good("a date without a time", finished_at="2026-10-30"),
    _good("a time with a zone offset", finished_at="2026-10-30T15:20:00+01:00"),
    _good("a space between date and time", finished_at="2026-10-30 15:20"),
    _bad("a backing nobody knows", "backing", backing="bamboo lattice"),
    _good("the trade's word for cut-away", backing="Cutaway"),
    _good("the trade's word for sheer mesh", backing="no-show mesh"),
    _good("the trade's word for tear-away, in capitals", backing="TEAR AWAY"),
    _good("a choice in capitals", backing="CUT_AWAY", fabric_shade="Light"),
    _bad("a shade outside the list", "fabric_shade", fabric_shade="purple"),
    _bad("nine layers of backing", "backing_layers", backing_layers="9"),
    _bad("two and a half layers", "backing_layers", backing_layers="2.5"),
    _good(
        "no backing and no layers",
        backing="none",
        backing_layers="0",
        backing_gsm="",
        backing_supplier="",
    ),
    _bad("a needle as thick as a nail", "needle_nm", needle_nm="200"),
    _bad("five stitches a minute", "speed_spm", speed_spm="5"),
    _bad("speed that is not a number", "speed_spm", speed_spm="NaN"),
    _bad("an endless weight", "backing_gsm", backing_gsm="inf"),
    _bad("no head ran", "head_count", head_count="0"),
    _bad(
        "a thousands mark that may be a decimal comma",
        "pieces_sewn",
        pieces_sewn="1,234",
    ),
    _bad("time that runs backwards", "rework_minutes", rework_minutes="-4"),
    _bad("a needle break without a word on its parts", "needle_parts_found", needle_breaks="1"),
    _good(
        "a needle break with parts missing: taken, and held",
        held=True,
        needle_breaks="1",
        needle_parts_found="false",
    ),
    _good("a needle break with all parts found", needle_breaks="1", needle_parts_found="true"),
    _good("yes for true", needle_breaks="1", needle_parts_found="yes", fabric_sheer="no"),
    _good(
        "1 for true and 0 for false", needle_breaks="2", needle_parts_found="1", fabric_sheer="0"
    ),
    _good("truth in capitals", fabric_sheer="TRUE"),
    _bad("neither true nor false", "fabric_sheer", fabric_sheer="perhaps"),
    _good("the run that the next two rows repeat", run_ref="F-TWIN"),
    FaultRow(
        "the same reference and the same content again",
        "skip",
        ("run_ref",),
        {
            "run_ref": "F-TWIN",
        },
        notes="tests: the run that the next two rows repeat",
    ),
    FaultRow(
        "the same reference with other content",
        "reject",
        ("run_ref",),
        {
            "run_ref": "F-TWIN",
            "puckering": "0",
        },
        notes="tests: the run that the next two rows repeat",
    ),
    _good("no reference: one is made from the content", run_ref=""),
    _good("a formula is kept as text and never run", notes="=1+1"),
    _good("a formula that would call out", notes='=HYPERLINK("x","tests: a link")'),
    _good("accents and a picture", notes="tests: façade café, Łódź, naïve ✂️🧵 100 %"),
    _good("a line break in the notes", notes="tests: first line\nsecond line"),
    _good("quotation marks and a comma", notes='tests: she said "again", twice'),
    _good(
        "non-breaking spaces round words and numbers",
        backing_supplier="\u00a0Alder\u00a0",
        pieces_sewn="\u00a024",
    ),
    _good("spaces and small letters in a supplier", backing_supplier=" alder "),
    _good("notes of more than a thousand letters", notes="tests: long notes " + "and on " * 160),
    _bad("a design's name of 300 letters", "design", design="Heron crest " * 25),
    FaultRow(
        "nothing says how much was sewn",
        "reject",
        ("pieces_inspected", "pieces_sewn", "stitches_sewn"),
        {**NO_PIECES, "stitches_sewn": ""},
    ),
    FaultRow("stitches and breaks alone", cells=NO_PIECES),
    _good("defects not recorded: empty, not nought", puckering="", gaps="", pieces_defective=""),
    _bad("no stitch was sewn", "stitches_sewn", stitches_sewn="0"),
    _bad("a pucker grade of six", "pucker_grade", pucker_grade="6"),
    _bad("a pucker grade between the halves", "pucker_grade", pucker_grade="3.3"),
    _good("a pucker grade of three and a half", pucker_grade="3.5"),
    FaultRow("two cells too many", "reject", extra=("7", "stray")),
    _good("the last good run before the empty rows"),
    FaultRow("a row of empty cells at the end", "skip", blank="cells"),
    FaultRow("an empty line at the end", "skip", blank="line"),
)
