"""What is said of one column of the run sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import polars as pl

from logbook.vocabulary.bands import Band
from logbook.vocabulary.choices import ChoiceList

ColumnType = Literal["text", "choice", "integer", "number", "boolean", "moment"]
Part = Literal["identity", "job", "fabric", "backing", "setup", "counts", "outcome"]
"""Under which heading a run's page lists it."""
Role = Literal[
    "identity",
    "job",
    "setup",
    "surroundings",
    "people",
    "judging",
    "exposure",
    "outcome",
    "effort",
    "safety",
    "note",
]
"""What it is for: what a job brings, what is chosen for it, where and by whom it is sewn …"""
FormGroup = Literal[
    "Machine",
    "Who and what",
    "Fabric",
    "Backing",
    "Machine setting",
    "Design",
    "Judging",
    "Time, grade and notes",
    "Counts",
]
"""Where the form asks for it, in this order. Machine and counts have fields of their own making."""
SETUP_GROUPS: tuple[FormGroup, ...] = (
    "Who and what",
    "Fabric",
    "Backing",
    "Machine setting",
    "Design",
    "Judging",
)
"""What the next run on a machine starts from."""
ASIDE_GROUP: FormGroup = "Time, grade and notes"
"""What is told of one run only, besides its counts."""

LONGEST_TEXT = 200
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

    Attributes
    ----------
    name, label, type, unit
        As files and commands name it, as people read it, what it holds and in what.
    part, role, form
        Under which heading a run's page lists it, what it is for, and where the form asks for it
        (None: it does not).
    lowest, highest, above
        Limits of what can be true, inclusive; ``above`` is an exclusive lower one.
    choices
        The closed list that its values are of.
    open_list
        Text whose spellings are matched to those in use.
    longest
        Characters of a text.
    groupable
        Whether runs can be grouped and filtered by its values.
    factor
        Whether comparisons and advice look at it: by its bands, where it has some.
    bands, band
        Steps into which a measured quantity is cut, and the name of the cut column.
    headings
        Short headings that probably mean it: a guess to tell, never taken as read.
    new_names_told
        Whether intake says that a name is new to the book: a shop gets one seldom, and more often
        another was meant.
    where_used
        Whether the form asks for it only where the shop uses it: some run has it, or the settings
        say so.
    step, says
        Of its field on the form: what a press of + adds, and words of help.
    """

    name: str
    label: str
    type: ColumnType
    part: Part
    role: Role
    unit: str | None = None
    lowest: float | None = None
    highest: float | None = None
    above: float | None = None
    choices: ChoiceList | None = None
    open_list: bool = False
    longest: int = LONGEST_TEXT
    form: FormGroup | None = None
    groupable: bool = False
    factor: bool = False
    bands: tuple[Band, ...] = ()
    band: str | None = None
    headings: tuple[str, ...] = ()
    new_names_told: bool = False
    where_used: bool = False
    step: float | None = None
    says: str = ""

    @property
    def dtype(self) -> pl.DataType:
        """The Polars type in which the column is kept."""
        return DTYPES[self.type]

    @property
    def unit_beside(self) -> str | None:
        """The unit, where the label does not say it already."""
        return None if self.unit is None or self.unit in self.label.lower() else self.unit
