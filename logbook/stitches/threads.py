"""The way of the thread: which stitch hangs on which, how long each is, where it is cut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook.stitches.design import BoolArray, Command, FloatArray, StitchDesign


@dataclass(frozen=True, slots=True, eq=False)
class Thread:
    """What lies between each needle point and the next.

    Attributes
    ----------
    points_mm
        (s, 2) needle points in the order of sewing.
    length_mm
        (s - 1,) straight distance from each to the next.
    sewn
        (s - 1,) a stitch: the same thread, no jump between.
    carried
        (s - 1,) the same thread, carried over by a jump without a cut.
    """

    points_mm: FloatArray
    length_mm: FloatArray
    sewn: BoolArray
    carried: BoolArray

    @property
    def stitch_lengths_mm(self) -> FloatArray:
        """Length of each stitch."""
        return self.length_mm[self.sewn]


def follow_thread(design: StitchDesign) -> Thread:
    """Follow the top thread from needle point to needle point."""
    at = np.flatnonzero(design.is_stitch)
    points = design.points_mm[at]
    trimmed = np.cumsum(design.commands == Command.TRIM)[at]
    moves = (Command.JUMP, Command.SEQUIN, Command.SEQUIN_MODE)
    jumped = np.cumsum(np.isin(design.commands, moves))[at]
    same = (np.diff(trimmed) == 0) & (np.diff(design.steps[at]) == 0)
    direct = np.diff(jumped) == 0
    return Thread(
        points_mm=points,
        length_mm=np.hypot(*np.diff(points, axis=0).T),
        sewn=same & direct,
        carried=same & ~direct,
    )


def cuts(design: StitchDesign) -> int:
    """How often the thread is cut within a colour.

    A second trim with nothing sewn since the first cuts nothing; some programs write one before
    every jump of a row.
    """
    told = np.flatnonzero(
        np.isin(design.commands, (Command.STITCH, Command.TRIM, Command.COLOUR_CHANGE))
    )
    commands = design.commands[told]
    return int(np.count_nonzero((commands[1:] == Command.TRIM) & (commands[:-1] == Command.STITCH)))
