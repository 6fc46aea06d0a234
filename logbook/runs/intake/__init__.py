"""The one way into the book: files, forms and requests become good runs and rejects."""

from __future__ import annotations

from logbook.runs.intake.batch import ParsedPart, parse_batch
from logbook.runs.intake.entries import ParsedRun, parse_run, parse_runs
from logbook.runs.intake.pipeline import Parsed, Reject, parse_sheet
from logbook.runs.intake.rejects import write_rejects
from logbook.runs.intake.sheet import RawSheet, open_sheet

__all__ = [
    "Parsed",
    "ParsedPart",
    "ParsedRun",
    "RawSheet",
    "Reject",
    "open_sheet",
    "parse_batch",
    "parse_run",
    "parse_runs",
    "parse_sheet",
    "write_rejects",
]
