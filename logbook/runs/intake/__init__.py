"""The one door into the book: files, forms and requests become good runs and rejects."""

from __future__ import annotations

from logbook.runs.intake.door import Reject, Taken, take
from logbook.runs.intake.entries import TakenOne, take_many, take_one
from logbook.runs.intake.rejects import write_rejects
from logbook.runs.intake.sheet import RawSheet, open_sheet
from logbook.runs.intake.together import TakenPart, take_together

__all__ = [
    "RawSheet",
    "Reject",
    "Taken",
    "TakenOne",
    "TakenPart",
    "open_sheet",
    "take",
    "take_many",
    "take_one",
    "take_together",
    "write_rejects",
]
