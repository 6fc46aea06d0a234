"""A stitch file as read: where the needle went, with which thread, and what the machine did."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


class Command(int, Enum):
    """What one record of a design tells the machine."""

    STITCH = 0
    JUMP = 1
    TRIM = 2
    STOP = 3
    END = 4
    COLOUR_CHANGE = 5
    SEQUIN_MODE = 6
    SEQUIN = 7
    SPEED = 8
    """Slower or faster from here on."""
    OTHER = 9
    """A hint to the program that drew it; the machine does nothing."""


class Trims(str, Enum):  # noqa: UP042 - plain values in JSON
    """How far a file says where the thread is cut."""

    RECORDED = "recorded"
    INFERRED = "inferred"
    """The file has no command for it; machines take long or repeated jumps for one."""
    NOT_RECORDED = "not_recorded"


@dataclass(frozen=True, slots=True, eq=False)
class StitchDesign:
    """One design, record by record, in the order of sewing.

    Attributes
    ----------
    file_name, ending
        As the user named it; the ending in lower case without its dot.
    content_hash
        SHA-256 of the file, hexadecimal.
    size_bytes
        Of the file.
    points_mm
        (n, 2) where each record leads: x to the right, y downwards, from the file's own origin.
    commands
        (n,) codes of ``Command``.
    steps
        (n,) colour step of each record, from 0; each change of colour begins another.
    colours
        Thread colour of each step as ``#rrggbb``; None where the file does not say.
    trims
        How far the file says where the thread is cut.
    notes
        What was odd about the file.
    """

    file_name: str
    ending: str
    content_hash: str
    size_bytes: int
    points_mm: FloatArray
    commands: IntArray
    steps: IntArray
    colours: tuple[str | None, ...]
    trims: Trims
    notes: tuple[str, ...] = ()

    @property
    def is_stitch(self) -> BoolArray:
        """(n,) whether the needle goes through the cloth there."""
        return np.asarray(self.commands == Command.STITCH)

    @property
    def needle_points_mm(self) -> FloatArray:
        """(s, 2) where the needle goes through, in order."""
        return self.points_mm[self.is_stitch]

    def count(self, command: Command) -> int:
        """How many records have this command."""
        return int(np.count_nonzero(self.commands == command))
