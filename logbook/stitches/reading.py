"""Reads stitch files: bytes in, a design out, or one sentence that says why not."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path
from typing import Any

import numpy as np
import pystitch
from pystitch import EmbConstant

from logbook.errors import BrokenStitchFile, NotAStitchFile, StitchFileError, StitchFileTooLarge
from logbook.stitches.design import Command, FloatArray, IntArray, StitchDesign
from logbook.stitches.formats import Format, format_of
from logbook.stitches.records import MOST_RECORDS, BoundedPattern, TooManyRecords, WatchedBytes

MOST_BYTES = 50_000_000
WIDEST_MM = 1500.0
"""Across; the fields of embroidery machines reach to about 1.2 m."""
LONGEST_STITCH_MM = 12.8
"""Machines sew up to about 12 mm (common practice); 127 steps of 0.1 mm fit into a byte."""
MOST_LONG_STITCHES = 0.05
MOST_AFTER_END = 512
"""Bytes that some programs put after the end."""
UNIT_MM = 0.1
"""The library's unit."""
COMPRESSED = {"hus": (slice(4, 8), 5_000_000)}
"""Where such a file says how many stitches it unfolds into, and how large it may be."""

SAVE_ANEW = "save the design from the digitizing program again and measure that file"
NO_MARK = "The file has no mark of its end: had it been cut short, it could not be seen."

_MEANING = {
    EmbConstant.STITCH: Command.STITCH,
    EmbConstant.SEW_TO: Command.STITCH,
    EmbConstant.NEEDLE_AT: Command.STITCH,
    EmbConstant.JUMP: Command.JUMP,
    EmbConstant.TRIM: Command.TRIM,
    EmbConstant.STOP: Command.STOP,
    EmbConstant.END: Command.END,
    EmbConstant.COLOR_CHANGE: Command.COLOUR_CHANGE,
    EmbConstant.NEEDLE_SET: Command.COLOUR_CHANGE,
    EmbConstant.COLOR_BREAK: Command.COLOUR_CHANGE,
    EmbConstant.SEQUIN_MODE: Command.SEQUIN_MODE,
    EmbConstant.SEQUIN_EJECT: Command.SEQUIN,
    EmbConstant.SLOW: Command.SPEED,
    EmbConstant.FAST: Command.SPEED,
}
_MEANINGS = np.full(256, int(Command.OTHER), dtype=np.int64)
for _code, _command in _MEANING.items():
    _MEANINGS[_code] = _command
_MOVED = range(EmbConstant.MATRIX_TRANSLATE, EmbConstant.MATRIX_ROTATE + 1)


def read_design(path: Path) -> StitchDesign:
    """Read a stitch file.

    Raises
    ------
    StitchFileError
        It cannot be opened, is no stitch file, breaks off, or is too large.
    """
    try:
        size = path.stat().st_size
        if path.is_file() and size > MOST_BYTES:
            raise _too_large(path.name, f"{size / 1e6:,.0f} MB")
        content = path.read_bytes()
    except OSError as problem:
        reason = (problem.strerror or "it cannot be opened").lower()
        raise StitchFileError(
            f"{path} cannot be read: {reason}.", "check the name and the folder"
        ) from problem
    return design_of(content, file_name=path.name)


def design_of(content: bytes, *, file_name: str) -> StitchDesign:
    """Read the bytes of a stitch file.

    Parameters
    ----------
    content
        The whole file.
    file_name
        As the user named it; the ending says how it is read.

    Raises
    ------
    StitchFileError
        It is no stitch file, breaks off, or is too large.
    """
    ending = Path(file_name).suffix[1:].lower()
    reader = _reader(ending)
    if reader is None:
        what = f"Files that end in .{ending}" if ending else "Files without an ending"
        raise NotAStitchFile(
            f"{file_name} is not read: {what} hold no stitches that are understood here.",
            "save the design in the form that the machine takes, and measure that file",
        )
    _begins_well(content, file_name, ending)
    pattern, notes = _read(content, reader, file_name, ending)
    return _design(content, pattern, file_name, ending, notes)


def _reader(ending: str) -> Any:
    for known in pystitch.supported_formats():
        if known["extension"] == ending and known.get("category") != "color":
            return known.get("reader")
    return None


def _begins_well(content: bytes, file_name: str, ending: str) -> None:
    if not content:
        raise NotAStitchFile(f"{file_name} is empty: 0 bytes.", "copy or save it again")
    if len(content) > MOST_BYTES:
        raise _too_large(file_name, f"{len(content) / 1e6:,.0f} MB")
    begins = format_of(ending)
    head = content[: begins.begins_within + 8]
    if begins.begins and not any(
        0 <= head.find(sign) <= begins.begins_within for sign in begins.begins
    ):
        raise NotAStitchFile(
            f"{file_name} does not begin as files that end in .{ending} do (byte 0).", SAVE_ANEW
        )
    if ending in COMPRESSED:
        place, most = COMPRESSED[ending]
        told = int.from_bytes(content[place], "little")
        if told > MOST_RECORDS or len(content) > most:
            raise _too_large(file_name, f"{told:,} stitches in {len(content) / 1e6:,.1f} MB")


def _read(
    content: bytes, reader: Any, file_name: str, ending: str
) -> tuple[BoundedPattern, list[str]]:
    known = format_of(ending)
    # Where the end has a mark, that mark is looked for; watching every byte takes time.
    watched = known.ended is None and not known.whole
    stream = WatchedBytes(content) if watched else io.BytesIO(content)
    pattern = BoundedPattern(stream)
    source: Any = stream
    if getattr(reader, "READ_FILE_IN_TEXT_MODE", False):
        source = io.TextIOWrapper(stream, encoding="utf-8-sig", errors="ignore", newline="")
    try:
        reader.read(source, pattern, None)
    except TooManyRecords:
        raise _too_large(file_name, f"more than {MOST_RECORDS:,} stitches and jumps") from None
    # Whatever the library meets in bytes that are no stitch file: the file is at fault.
    except Exception as problem:
        raise NotAStitchFile(
            f"{file_name} is no whole stitch file: after {len(pattern.stitches):,} stitches and "
            "jumps nothing more could be read.",
            SAVE_ANEW,
        ) from problem
    finally:
        if source is not stream:
            source.detach()
    return pattern, _ends_well(content, pattern, file_name, known)


def _ends_well(content: bytes, pattern: BoundedPattern, file_name: str, known: Format) -> list[str]:
    at = len(content) if pattern.ended_at is None else min(pattern.ended_at, len(content))
    sewn = len(pattern.stitches)
    if known.ended is not None:
        if not known.ended(content[max(at - 4, 0) : at]):
            raise _broken(file_name, at, sewn)
        if known.last and len(content[at:].strip(b"\x00\x1a\r\n ")) > MOST_AFTER_END:
            raise _broken(file_name, at, sewn)
        return []
    if known.whole:
        if at < len(content) or len(content) % 2:
            raise _broken(file_name, at, sewn)
        return [NO_MARK]
    if pattern.broke_off and known.begins:
        raise _broken(file_name, at, sewn)
    told = any(record[2] == EmbConstant.END for record in reversed(pattern.stitches))
    return [] if told and not pattern.broke_off else [NO_MARK]


def _design(
    content: bytes, pattern: BoundedPattern, file_name: str, ending: str, notes: list[str]
) -> StitchDesign:
    points, raw = _arrays(pattern.stitches, file_name)
    commands = _MEANINGS[raw & 0xFF]
    _is_stitching(points, commands, raw, file_name, format_of(ending))
    sewn_yet = np.cumsum(commands == Command.STITCH) > 0
    changes = commands == Command.COLOUR_CHANGE
    before = int(np.count_nonzero(((raw & 0xFF) == EmbConstant.COLOR_CHANGE) & ~sewn_yet))
    # What stands before the first stitch says which thread begins; nothing is changed yet.
    commands[changes & ~sewn_yet] = Command.OTHER
    steps = np.cumsum(changes & sewn_yet)
    threads = [_hexadecimal(thread) for thread in pattern.threadlist[before:]]
    many = int(steps[-1]) + 1
    colours = (*threads[:many], *[None] * (many - len(threads)))
    return StitchDesign(
        file_name=file_name,
        ending=ending,
        content_hash=hashlib.sha256(content).hexdigest(),
        size_bytes=len(content),
        points_mm=points,
        commands=commands,
        steps=steps,
        colours=colours,
        trims=format_of(ending).trims,
        notes=tuple(notes),
    )


def _arrays(records: list[Any], file_name: str) -> tuple[FloatArray, IntArray]:
    try:
        table = np.array(records, dtype=np.float64).reshape(-1, 3)
        whole = bool(np.isfinite(table).all())
    except (TypeError, ValueError, OverflowError):
        whole = False
    if not whole:
        raise NotAStitchFile(
            f"{file_name} holds stitches at places that are no numbers.", SAVE_ANEW
        )
    return np.ascontiguousarray(table[:, :2]) * UNIT_MM, table[:, 2].astype(np.int64)


def _is_stitching(
    points: FloatArray, commands: IntArray, raw: IntArray, file_name: str, known: Format
) -> None:
    sewn = points[commands == Command.STITCH]
    if len(sewn) < 2 or not np.any(sewn != sewn[0]):
        found = "no stitch" if len(sewn) == 0 else f"{len(sewn):,} stitches in one place"
        raise NotAStitchFile(f"{file_name} holds no design: {found} was found in it.", SAVE_ANEW)
    if np.isin(raw & 0xFF, _MOVED).any():
        raise NotAStitchFile(
            f"{file_name} is a drawing that still has to be moved or turned.", SAVE_ANEW
        )
    across = np.ptp(points, axis=0)
    if np.any(across > WIDEST_MM):
        raise NotAStitchFile(
            f"{file_name} would be {across[0]:,.0f} by {across[1]:,.0f} mm, larger than any "
            f"field ({WIDEST_MM:,.0f} mm): it is damaged or no stitch file.",
            SAVE_ANEW,
        )
    if known.begins or not known.sewn:
        return
    both = (commands[1:] == Command.STITCH) & (commands[:-1] == Command.STITCH)
    lengths = np.hypot(*np.diff(points, axis=0)[both].T)
    if lengths.size and np.mean(lengths > LONGEST_STITCH_MM) > MOST_LONG_STITCHES:
        share = np.mean(lengths > LONGEST_STITCH_MM)
        raise NotAStitchFile(
            f"{file_name} is no stitch file: {share:.0%} of its stitches would be longer than "
            f"any machine sews ({LONGEST_STITCH_MM} mm).",
            SAVE_ANEW,
        )


def _hexadecimal(thread: Any) -> str | None:
    colour = getattr(thread, "color", None)
    return f"#{colour & 0xFFFFFF:06x}" if isinstance(colour, int) else None


def _too_large(file_name: str, found: str) -> StitchFileTooLarge:
    return StitchFileTooLarge(
        f"{file_name} is too large for a design: {found}, where {MOST_BYTES / 1e6:,.0f} MB and "
        f"{MOST_RECORDS:,} stitches and jumps are the most.",
        "check that it is the right file; split a design that really is so large",
    )


def _broken(file_name: str, at: int, records: int) -> BrokenStitchFile:
    return BrokenStitchFile(
        f"{file_name} breaks off, or is damaged: at byte {at:,}, after {records:,} stitches and "
        "jumps, it does not go on or end as it should.",
        "copy it again from where it came, or " + SAVE_ANEW,
    )
