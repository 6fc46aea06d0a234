"""The rejects file: rows that could not be taken, unchanged, with the reasons beside them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from itertools import count
from pathlib import Path

from logbook.atomic_files import name_on_disk, write_atomically
from logbook.errors import IntakeError
from logbook.runs.intake.delimited import BYTE_ORDER_MARK
from logbook.runs.intake.headings import OF_A_REJECTS_FILE
from logbook.runs.intake.pipeline import Reject
from logbook.runs.intake.sheet import RawSheet


def write_rejects(
    raw: RawSheet, rejects: Iterable[Reject], *, fallback: Path | None = None
) -> tuple[Path, tuple[str, ...]]:
    """Write ``NAME.rejects.csv`` beside the sheet; mended, it can be imported.

    A worksheet that is not the first of its workbook has ``NAME.WORKSHEET.rejects.csv``. A file
    that is there already is never written over, since it may be half mended: where it is not the
    same to the letter, the rows go to ``NAME.rejects-2.csv`` beside it, and so on.

    Parameters
    ----------
    raw
        The sheet that the rows came in.
    rejects
        Positions in the sheet, columns at fault and reasons.
    fallback
        A folder to write to where the sheet's own cannot be written.

    Returns
    -------
    tuple
        The file, and what the user should know: that earlier rejects files were left as they
        are, or that the file is in another folder.

    Raises
    ------
    IntakeError
        Neither folder can be written.
    """
    content = _content(raw, rejects)
    worksheet = f".{name_on_disk(raw.worksheet)}" if raw.worksheet else ""
    stem = f"{raw.path.stem}{worksheet}.rejects"
    folders = [raw.path.parent, *([fallback] if fallback is not None else [])]
    failures: list[str] = []
    for folder in folders:
        try:
            path, notes = _put(folder, stem, content)
        except OSError as cause:
            failures.append(f"{folder} ({cause.strerror or cause})")
            continue
        if failures:
            notes = (*notes, f"the rejects file is in {folder}: cannot write to {failures[0]}")
        return path, notes
    raise IntakeError(
        f"The rejected rows of {raw.path.name} cannot be written to {' nor to '.join(failures)}.",
        "copy the sheet to a folder that you may write to, and import it from there",
    )


def _content(raw: RawSheet, rejects: Iterable[Reject]) -> bytes:
    out = io.StringIO()
    # This end of line makes the writer quote cells that hold either of its two characters.
    writer = csv.writer(out, delimiter=raw.delimiter or ",", lineterminator="\r\n")
    writer.writerow((*raw.headings, *OF_A_REJECTS_FILE))
    writer.writerows(_rows(raw, rejects))
    mark = BYTE_ORDER_MARK if raw.byte_order_mark else b""
    return mark + out.getvalue().encode("utf-8")


def _rows(raw: RawSheet, rejects: Iterable[Reject]) -> Iterator[tuple[str | int, ...]]:
    together: dict[int, list[Reject]] = {}
    for reject in rejects:
        together.setdefault(reject.position, []).append(reject)
    places = sorted(together)
    for place, cells in zip(places, raw.cells[places].iter_rows(), strict=True):
        fault = raw.misshapen.get(place)
        columns = dict.fromkeys(reject.column for reject in together[place])
        reasons = dict.fromkeys(reject.reason for reject in together[place])
        yield (
            *(cells if fault is None else fault.cells),
            raw.numbers[place],
            ", ".join(columns),
            "; ".join(reasons),
        )


def _put(folder: Path, stem: str, content: bytes) -> tuple[Path, tuple[str, ...]]:
    earlier: list[str] = []
    for number in count(1):
        path = folder / (f"{stem}.csv" if number == 1 else f"{stem}-{number}.csv")
        if _written(path, content):
            break
        earlier.append(path.name)
    if not earlier:
        return path, ()
    were = "is there already and was" if len(earlier) == 1 else "are there already and were"
    return path, (
        f"{' and '.join(earlier)} {were} left as found; the rows rejected now are in {path.name}",
    )


def _written(path: Path, content: bytes) -> bool:
    """Whether the file holds the content now; never written over where it is there already."""
    try:
        path.open("xb").close()
    except FileExistsError:
        return path.is_file() and path.read_bytes() == content
    try:
        write_atomically(path, content)
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return True
