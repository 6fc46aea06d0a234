"""The pattern and the stream that the reading library fills and reads, each with a bound."""

from __future__ import annotations

import io
from typing import Any

from pystitch import EmbPattern
from pystitch.EmbConstant import (
    COLOR_CHANGE,
    COMMAND_MASK,
    JUMP,
    NEEDLE_SET,
    SEQUIN_EJECT,
    STITCH,
    TRIM,
)

Record = list[Any]
MOST_RECORDS = 2_000_000


class TooManyRecords(Exception):
    """A file goes on and on; caught where it is read."""


class WatchedBytes(io.BytesIO):
    """Bytes that remember whether more was asked of them than there was."""

    ran_out = False

    def read(self, size: int | None = -1, /) -> bytes:
        """Read so many bytes, or all."""
        got = super().read(size)
        if size is not None and size > 0 and len(got) < size:
            self.ran_out = True
        return got


class BoundedPattern(EmbPattern):  # type: ignore[misc]
    """A pattern that takes so many records, and remembers how its file ended.

    The library finds trims by inserting into and deleting from one long list, which takes
    hours on a hostile file; here the same is done in one pass.
    """

    def __init__(self, stream: io.BytesIO) -> None:
        super().__init__()
        self.stitches: list[Record] = []
        self._previousX: float = 0
        self._previousY: float = 0
        self.stream = stream
        self.ended_at: int | None = None
        self.broke_off = False

    def add_stitch_relative(self, cmd: int, dx: float = 0, dy: float = 0) -> None:
        """Take a record that leads on from the last one."""
        # Written out, not called: this runs for every stitch there is.
        self._previousX = x = self._previousX + dx
        self._previousY = y = self._previousY + dy
        self._take([x, y, cmd])

    def add_stitch_absolute(self, cmd: int, x: float = 0, y: float = 0) -> None:
        """Take a record that says where it leads."""
        self._previousX, self._previousY = x, y
        self._take([x, y, cmd])

    def needle_out(self, needle: int) -> None:
        """Take another needle; one reader of the library calls it so."""
        self.needle_change(needle)

    def metadata(self, name: str, data: Any) -> None:
        """Forget labels and thumbnails: nothing here needs them, and they can be huge."""

    def end(self, dx: float = 0, dy: float = 0, position: int | None = None) -> None:
        """Take the end, and note where the reader stood."""
        if self.ended_at is None:
            self.ended_at = self.stream.tell()
            self.broke_off = getattr(self.stream, "ran_out", False)
        super().end(dx, dy, position)

    def interpolate_trims(
        self,
        jumps_to_require_trim: int | None = None,
        distance_to_require_trim: float | None = None,
        clipping: bool = True,
    ) -> None:
        """Infer trims from jumps, as machines do."""
        self.stitches = with_trims(
            self.stitches,
            jumps=jumps_to_require_trim,
            distance=distance_to_require_trim,
            clip=clipping,
        )

    def _take(self, record: Record) -> None:
        if len(self.stitches) >= MOST_RECORDS:
            raise TooManyRecords
        self.stitches.append(record)


def with_trims(
    records: list[Record], *, jumps: int | None, distance: float | None, clip: bool
) -> list[Record]:
    """Put a trim before every run of jumps that is long enough for one.

    Parameters
    ----------
    records
        ``[x, y, command]`` of each.
    jumps
        So many jumps in a row are a trim.
    distance
        Jumps that go further than this along either axis are a trim.
    clip
        Leave out jumps that lead back to where they began; with three of them some programs
        write a trim.

    Returns
    -------
    list
        What the library's own ``interpolate_trims`` makes of the same records; see
        ``tests/unit/stitches/test_trims_inferred.py``.
    """
    made: list[Record] = []
    x = y = run_x = run_y = 0.0
    count = start = 0
    jumping, trimmed = False, True
    for record in records:
        dx, dy = record[0] - x, record[1] - y
        x, y = record[0], record[1]
        command = record[2] & COMMAND_MASK
        made.append(record)
        if command in (STITCH, SEQUIN_EJECT):
            trimmed = jumping = False
        elif command in (COLOR_CHANGE, NEEDLE_SET, TRIM):
            trimmed, jumping = True, False
        if command != JUMP:
            continue
        if not jumping:
            run_x = run_y = 0.0
            count, start, jumping = 0, len(made) - 1, True
        count += 1
        run_x, run_y = run_x + dx, run_y + dy
        far = distance is not None and (abs(run_y) > distance or abs(run_x) > distance)
        if not trimmed and (count == jumps or far):
            at = made[start - 1][:2] if start else [0, 0]
            made.insert(start, [*at, TRIM])
            start += 1
            trimmed = True
        if clip and run_x == 0 and run_y == 0:
            del made[start:]
    return made
