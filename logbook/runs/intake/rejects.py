"""The rejects file: rows that could not be taken, unchanged, with the reasons beside them."""

from __future__ import annotations

import csv
import io
import os
import secrets
from collections.abc import Iterable, Iterator
from pathlib import Path

from logbook.errors import IntakeError
from logbook.runs.intake.delimited import BYTE_ORDER_MARK
from logbook.runs.intake.door import Reject
from logbook.runs.intake.headings import OF_A_REJECTS_FILE
from logbook.runs.intake.sheet import RawSheet


def write_rejects(
    raw: RawSheet, rejects: Iterable[Reject], *, fallback: Path | None = None
) -> tuple[Path, tuple[str, ...]]:
    """Write ``NAME.rejects.csv`` beside the sheet; mended, it can be imported.

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
        The file, and what the user should know: that an earlier rejects file with other content
        was kept under another name, or that the file is in another folder.

    Raises
    ------
    IntakeError
        Neither folder can be written.
    """
    content = _content(raw, rejects)
    name = f"{raw.path.stem}.rejects.csv"
    folders = [raw.path.parent, *([fallback] if fallback is not None else [])]
    failures: list[str] = []
    for folder in folders:
        try:
            notes = _put(folder / name, content)
        except OSError as cause:
            failures.append(f"{folder} ({cause.strerror or cause})")
            continue
        if failures:
            notes = (*notes, f"the rejects file is in {folder}: cannot write to {failures[0]}")
        return folder / name, notes
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


def _put(path: Path, content: bytes) -> tuple[str, ...]:
    notes: tuple[str, ...] = ()
    if path.exists():
        if path.read_bytes() == content:
            return notes
        kept = _free_name(path)
        path.rename(kept)
        notes = (f"an earlier {path.name} was kept as {kept.name}",)
    _write_whole(path, content)
    return notes


def _free_name(path: Path) -> Path:
    stem = path.name.removesuffix(".csv")
    number = 1
    while (kept := path.with_name(f"{stem}.old-{number}.csv")).exists():
        number += 1
    return kept


def _write_whole(path: Path, content: bytes) -> None:
    """Write to a file beside it and put that in place: a reader never sees half a file."""
    temporary = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        with temporary.open("xb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
