"""The one pipeline: text cells from anywhere become good runs and rejects with reasons."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

import polars as pl

from logbook.runs.columns import columns_with, run_schema
from logbook.runs.content import content_digests, made_references
from logbook.runs.intake.data_quality import quality_notes, trimmed
from logbook.runs.intake.parsing import Reading, read_columns
from logbook.runs.intake.sheet import RawSheet
from logbook.runs.intake.spelling import match_spellings
from logbook.runs.judging import REASONS, Judged, judge
from logbook.shop import Shop

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
class Parsed:
    """What came of the rows of a sheet or the entries of a request.

    ``good`` is a run frame, every run with a reference; ``good_positions`` says which row each
    of them was. ``rejects`` has one entry for each row rejected, ``reasons`` one for each reason
    (``position, column, reason``). ``rows`` is how many came. ``as_sent`` holds columns of
    ``good`` as they came, where they were filled in since; None where nothing was.
    """

    good: pl.DataFrame
    good_positions: pl.Series
    rejects: tuple[Reject, ...]
    reasons: tuple[Reject, ...]
    notes: tuple[str, ...]
    rows: int
    as_sent: pl.DataFrame | None = None


def parse_sheet(
    raw: RawSheet,
    *,
    shop: Shop,
    known: Mapping[str, Sequence[str]],
    now: datetime,
    progress: Callable[[int], None] | None = None,
    chunk_rows: int = CHUNK_ROWS,
) -> Parsed:
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
    whole = pl.Series("position", range(raw.rows), dtype=pl.Int64)
    fitting = whole.filter(~whole.is_in(list(raw.misshapen)))
    cells = raw.named[fitting] if raw.misshapen else raw.named
    if raw.misshapen and progress is not None:
        progress(len(raw.misshapen))
    parsed = parse_cells(
        cells,
        positions=fitting,
        reading=Reading(ZoneInfo(shop.timezone), raw.dot_is_decimal, raw.guarded),
        shop=shop,
        known=known,
        now=now,
        progress=progress,
        chunk_rows=chunk_rows,
        name_row=raw.place_of,
    )
    shapeless = [Reject(place, "", fault.reason) for place, fault in raw.misshapen.items()]
    return with_rejects(parsed, shapeless, rows=raw.rows)


def parse_cells(
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
) -> Parsed:
    """Read and judge text cells under the run sheet's names; see :func:`parse_sheet`.

    ``positions`` numbers the rows as the caller does; ``name_row`` says how a message calls one.
    """
    moment = now if now.tzinfo is None else now.astimezone(reading.zone).replace(tzinfo=None)
    judged: list[Judged] = []
    for start in range(0, cells.height, chunk_rows):
        part = judge_cells(cells.slice(start, chunk_rows), reading=reading, shop=shop, now=moment)
        judged.append(_placed(part, positions.slice(start, chunk_rows)))
        if progress is not None:
            progress(min(chunk_rows, cells.height - start))
    good = pl.concat([pl.DataFrame(schema=run_schema(shop.own)), *(p.good for p in judged)])
    places = pl.concat([positions.head(0), *(part.positions for part in judged)])
    reasons = pl.concat([pl.DataFrame(schema=REASONS), *(part.reasons for part in judged)])
    return finished(
        Judged(good=good, positions=places, reasons=reasons),
        cells,
        shop=shop,
        known=known,
        now=moment,
        name_row=name_row,
    )


def judge_cells(cells: pl.DataFrame, *, reading: Reading, shop: Shop, now: datetime) -> Judged:
    """Read text cells, and tell the runs that can be true from the others.

    ``now`` is in the shop's zone, without offset.
    """
    typed = read_columns(cells, columns_with(shop.own), reading)
    return judge(typed.frame, own=shop.own, now=now, unread=typed.unread)


def finished(
    judged: Judged,
    cells: pl.DataFrame,
    *,
    shop: Shop,
    known: Mapping[str, Sequence[str]],
    now: datetime,
    name_row: Callable[[int], str],
) -> Parsed:
    """What looks at the rows of a sheet together: spellings, references, what is worth a look."""
    spelled = match_spellings(judged.good, known, shop.own)
    noted = quality_notes(spelled.runs, shop, now, lambda row: name_row(judged.positions[row]))
    notes = [*trimmed(cells, shop.own), *spelled.notes, *noted]
    named = made_references(spelled.runs)
    clashes = _clashes(named, judged.positions, name_row)
    kept = ~judged.positions.is_in([clash.position for clash in clashes])
    parsed = Parsed(
        good=named.filter(kept),
        good_positions=judged.positions.filter(kept),
        rejects=tuple(Reject(*row) for row in judged.bad.iter_rows()),
        reasons=tuple(Reject(*row) for row in judged.reasons.iter_rows()),
        notes=tuple(notes),
        rows=cells.height,
    )
    return with_rejects(parsed, clashes, rows=cells.height)


def with_rejects(parsed: Parsed, more: Sequence[Reject], *, rows: int) -> Parsed:
    """The same, with further rows rejected, out of so many rows in all."""
    return replace(
        parsed,
        rejects=tuple(sorted((*parsed.rejects, *more), key=lambda reject: reject.position)),
        reasons=tuple(sorted((*parsed.reasons, *more), key=lambda reject: reject.position)),
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
    rows = zip(twice["run_ref"], content_digests(twice), places.filter(repeated), strict=True)
    for run_ref, digest, place in rows:
        earlier_digest, earlier = first.setdefault(run_ref, (digest, place))
        if digest != earlier_digest:
            reason = (
                f"run_ref {run_ref} is also in {name_row(earlier)}, with other content; give one "
                "of them a reference of its own, or import a correction in a sheet of its own"
            )
            found.append(Reject(place, "run_ref", reason))
    return found
