"""The one door: text cells from anywhere become good runs and rejects with reasons."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

import polars as pl

from logbook.intake.parsing import SHOWN, Reading, cleaned, read_columns
from logbook.intake.sheet import RawSheet
from logbook.intake.spelling import match_spellings
from logbook.records.columns import Column, columns_with, run_schema
from logbook.records.content import content_marks, made_references, twins
from logbook.records.judging import Judged, judge
from logbook.shop import Shop
from logbook.vocabulary.defects import DEFECT_KINDS

CHUNK_ROWS = 100_000


@dataclass(frozen=True, slots=True)
class Reject:
    """One row that cannot be taken.

    ``position`` counts the rows handed in from 0; ``column`` names those at fault, empty where
    the row as a whole is.
    """

    position: int
    column: str
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class Taken:
    """What came through the door.

    ``good`` is a run frame, every run with a reference; ``good_positions`` says which row each
    of them was. ``rejects`` has one entry for each row rejected, ``reasons`` one for each reason
    (``position, column, reason``). ``rows`` is how many came.
    """

    good: pl.DataFrame
    good_positions: pl.Series
    rejects: tuple[Reject, ...]
    reasons: tuple[Reject, ...]
    notes: tuple[str, ...]
    rows: int


def take(
    raw: RawSheet,
    *,
    shop: Shop,
    known: Mapping[str, Sequence[str]],
    now: datetime,
    progress: Callable[[int], None] | None = None,
    chunk_rows: int = CHUNK_ROWS,
) -> Taken:
    """Read and judge the rows of a sheet.

    Parameters
    ----------
    raw
        The open sheet.
    shop
        Its zone and its own defect kinds.
    known
        For each open list the spellings in use, most used first.
    now
        The present; without offset it is taken to be in the shop's zone.
    progress
        Called with the number of rows done since the last call.
    chunk_rows
        Rows looked at in one go.

    Notes
    -----
    A reference that comes twice in one sheet: with the same content both rows come through (the
    store skips the second); with other content the later row is a reject, whether or not the
    import amends, since a sheet cannot say which of its rows is the right one.
    """
    columns = {str(place): name for place, name in enumerate(raw.names) if name}
    whole = pl.Series("position", range(raw.rows), dtype=pl.Int64)
    fitting = whole.filter(~whole.is_in(list(raw.misshapen)))
    cells = raw.cells.select(pl.col(place).alias(name) for place, name in columns.items())
    cells = cells[fitting] if raw.misshapen else cells
    if raw.misshapen and progress is not None:
        progress(len(raw.misshapen))
    taken = take_cells(
        cells,
        positions=fitting,
        reading=Reading(ZoneInfo(shop.timezone), raw.dot_is_decimal, raw.guarded),
        shop=shop,
        known=known,
        now=now,
        progress=progress,
        chunk_rows=chunk_rows,
        name_row=lambda position: f"row {raw.numbers[position]} of this sheet",
    )
    shapeless = [Reject(place, "", fault.reason) for place, fault in raw.misshapen.items()]
    return with_rejects(taken, shapeless, rows=raw.rows)


def take_cells(
    cells: pl.DataFrame,
    *,
    positions: pl.Series,
    reading: Reading,
    shop: Shop,
    known: Mapping[str, Sequence[str]],
    now: datetime,
    progress: Callable[[int], None] | None = None,
    chunk_rows: int = CHUNK_ROWS,
    name_row: Callable[[int], str],
) -> Taken:
    """Read and judge text cells under the run sheet's names; see :func:`take`.

    ``positions`` numbers the rows as the caller does; ``name_row`` says how a message calls one.
    """
    moment = now if now.tzinfo is None else now.astimezone(reading.zone).replace(tzinfo=None)
    columns = columns_with(shop.own_kinds)
    judged: list[Judged] = []
    for start in range(0, cells.height, chunk_rows):
        typed = read_columns(cells.slice(start, chunk_rows), columns, reading)
        part = judge(typed.frame, own_kinds=shop.own_kinds, now=moment, unread=typed.unread)
        judged.append(_placed(part, positions.slice(start, chunk_rows)))
        if progress is not None:
            progress(typed.frame.height)
    good = pl.concat([pl.DataFrame(schema=run_schema(shop.own_kinds)), *(p.good for p in judged)])
    places = pl.concat([positions.head(0), *(part.positions for part in judged)])
    reasons = [Reject(*row) for part in judged for row in part.reasons.iter_rows()]
    rejects = [Reject(*row) for part in judged for row in part.bad.iter_rows()]
    spelled = match_spellings(good, known)
    notes = [*_trimmed(cells, columns), *spelled.notes, *_doubts(spelled.runs, shop, moment)]
    named = made_references(spelled.runs)
    clashes = _clashes(named, places, name_row)
    kept = ~places.is_in([clash.position for clash in clashes])
    taken = Taken(
        good=named.filter(kept),
        good_positions=places.filter(kept),
        rejects=tuple(rejects),
        reasons=tuple(reasons),
        notes=tuple(notes),
        rows=cells.height,
    )
    return with_rejects(taken, clashes, rows=cells.height)


def with_rejects(taken: Taken, more: Sequence[Reject], *, rows: int) -> Taken:
    """The same, with further rows rejected, out of so many rows in all."""
    return replace(
        taken,
        rejects=tuple(sorted((*taken.rejects, *more), key=lambda reject: reject.position)),
        reasons=tuple(sorted((*taken.reasons, *more), key=lambda reject: reject.position)),
        rows=rows,
    )


def _placed(part: Judged, positions: pl.Series) -> Judged:
    return Judged(
        good=part.good,
        positions=positions.gather(part.positions),
        reasons=part.reasons.with_columns(positions.gather(part.reasons["position"])),
    )


def _clashes(runs: pl.DataFrame, places: pl.Series, name_row: Callable[[int], str]) -> list[Reject]:
    """Rows whose reference an earlier row of the same sheet has with other content."""
    repeated = runs["run_ref"].is_duplicated()
    if not repeated.any():
        return []
    twice = runs.filter(repeated)
    found: list[Reject] = []
    first: dict[str, tuple[str, int]] = {}
    rows = zip(twice["run_ref"], content_marks(twice), places.filter(repeated), strict=True)
    for run_ref, mark, place in rows:
        earlier_mark, earlier = first.setdefault(run_ref, (mark, place))
        if mark != earlier_mark:
            reason = (
                f"run_ref {run_ref} is also in {name_row(earlier)}, with other content; give one "
                "of them a reference of its own, or import a correction in a sheet of its own"
            )
            found.append(Reject(place, "run_ref", reason))
    return found


def _trimmed(cells: pl.DataFrame, columns: Sequence[Column]) -> list[str]:
    """Names that had spaces or invisible characters round them."""
    notes = []
    for column in columns:
        if not column.open_list or column.name not in cells.columns:
            continue
        written = cells[column.name].unique(maintain_order=True)
        plain = cleaned(written)
        shown = plain.filter((written != plain).fill_null(value=False)).unique(maintain_order=True)
        if len(shown):
            names = ", ".join(f"'{name[:SHOWN]}'" for name in shown.head(3))
            dots = " …" if len(shown) > 3 else ""
            notes.append(f"{column.name}: spaces round {names}{dots} were taken off")
    return notes


def _doubts(runs: pl.DataFrame, shop: Shop, now: datetime) -> list[str]:
    """What can be true of good runs, and yet is worth a look."""
    notes = []
    if count := runs.filter(pl.col("finished_at") > now).height:
        notes.append(f"{_rows(count)} finished in the future: check the dates")
    unnamed = runs.filter(pl.col("run_ref").is_null())
    if count := len(twins(unnamed)) if unnamed.height > 1 else 0:
        notes.append(
            f"{_rows(count)} without run_ref repeated an earlier row to the letter: kept as runs "
            "of their own; give them references if they were typed twice"
        )
    events = [kind.name for kind in (*DEFECT_KINDS, *shop.own_kinds) if kind.measure == "events"]
    no_stitches = pl.col("stitches_sewn").is_null() & (
        pl.col("stitches_per_piece").is_null() | pl.col("pieces_sewn").is_null()
    )
    told = pl.any_horizontal(pl.col(name).is_not_null() for name in events)
    if count := runs.select((no_stitches & told).sum()).item():
        notes.append(
            f"{_rows(count)} recorded breaks or nests but not the stitches they are counted "
            "against: fill in stitches_sewn, or stitches_per_piece and pieces_sewn"
        )
    return notes


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"
