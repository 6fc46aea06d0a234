"""Many small requests judged in one piece: each gets what it would get by itself.

Reading and judging a frame of one run takes nearly as long as one of fifty.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl

from logbook.runs.columns import open_lists
from logbook.runs.content import made_references
from logbook.runs.intake.data_quality import worth_a_look
from logbook.runs.intake.entries import as_cells, name_entry, readable_entries
from logbook.runs.intake.parsing import Reading
from logbook.runs.intake.pipeline import Parsed, finished, judge_cells, with_rejects
from logbook.runs.intake.spelling import match_spellings
from logbook.runs.judging import Judged
from logbook.shop import Shop
from logbook.vocabulary.own_columns import Own

Names = Mapping[str, Sequence[str]]
"""Names by the open list that they are of."""


@dataclass(frozen=True, slots=True, eq=False)
class ParsedPart:
    """What came of one request.

    ``parsed`` is None where that depends on whether an earlier one gets into the book: it is to be
    asked about again once that is known. ``fresh`` are names that no run in the book has.
    """

    parsed: Parsed | None
    fresh: Names


def parse_batch(
    requests: Sequence[Sequence[Any]],
    *,
    shop: Shop,
    known: Names,
    now: datetime,
    pending: Sequence[Names] = (),
) -> list[ParsedPart]:
    """Read and judge the runs of many requests, each for itself.

    Parameters
    ----------
    requests
        The entries of each, as for :func:`logbook.runs.intake.parse_runs`.
    shop, known, now
        As of :func:`parse_sheet`; ``now`` is in the shop's zone, without offset.
    pending
        Fresh names of requests judged before, of which it is not known yet whether they get in.
    """
    apart = [readable_entries(entries, shop) for entries in requests]
    cells = as_cells([row for readable, _, _ in apart for row in readable])
    judged = judge_cells(cells, reading=Reading(ZoneInfo(shop.timezone)), shop=shop, now=now)
    pieces = _Pieces(judged, cells, [len(readable) for readable, _, _ in apart], shop, known, now)
    waiting = [dict(names) for names in pending]
    parts: list[ParsedPart] = []
    for number, (entries, (_, places, rejects)) in enumerate(zip(requests, apart, strict=True)):
        part = pieces.part(number, places, waiting)
        if part.parsed is not None:
            part = ParsedPart(with_rejects(part.parsed, rejects, rows=len(entries)), part.fresh)
            if part.fresh:
                waiting.append(dict(part.fresh))
        parts.append(part)
    return parts


class _Pieces:
    """The judged rows of all, cut into what each brought."""

    def __init__(
        self,
        judged: Judged,
        cells: pl.DataFrame,
        sizes: Sequence[int],
        shop: Shop,
        known: Names,
        now: datetime,
    ) -> None:
        self.judged, self.cells, self.shop, self.known, self.now = judged, cells, shop, known, now
        self.ends = np.cumsum(sizes, dtype=np.int64)
        self.starts = self.ends - np.asarray(sizes, dtype=np.int64)
        good, bad = judged.positions.to_numpy(), judged.reasons["position"].to_numpy()
        self.good_from = np.searchsorted(good, self.starts).tolist()
        self.good_to = np.searchsorted(good, self.ends).tolist()
        self.bad_from = np.searchsorted(bad, self.starts).tolist()
        self.bad_to = np.searchsorted(bad, self.ends).tolist()
        owners = pl.Series("sheet", np.searchsorted(self.ends, good, side="right"))
        self.odd = set(owners.filter(self._odd_rows()).to_list())
        self.named = made_references(judged.good, sheets=owners)
        self.refs = judged.good["run_ref"].to_list()

    def _odd_rows(self) -> pl.Series:
        good = self.judged.good
        cells = (
            self.cells if good.height == self.cells.height else self.cells[self.judged.positions]
        )
        odd = worth_a_look(good, cells, self.shop, self.now)
        for name in open_lists(self.shop.own):
            if good[name].null_count() < good.height:
                in_use = set(self.known.get(name, ()))
                strange = [each is not None and each not in in_use for each in good[name].to_list()]
                odd = odd | pl.Series(strange, dtype=pl.Boolean)
        return odd

    def part(self, number: int, places: Sequence[int], pending: Sequence[Names]) -> ParsedPart:
        """What came of one; ``places`` are those of its readable entries."""
        begin, end = self.good_from[number], self.good_to[number]
        whole = end - begin == len(places)
        refs = self.refs[begin:end]
        if whole and number not in self.odd and (len(refs) == 1 or _all_different(refs)):
            return ParsedPart(_plain(self.named[begin:end], places), {})
        return self._looked_at(number, places, pending)

    def _looked_at(
        self, number: int, places: Sequence[int], pending: Sequence[Names]
    ) -> ParsedPart:
        start, end = int(self.starts[number]), int(self.ends[number])
        here = pl.Series("position", places, dtype=pl.Int64)
        good = slice(self.good_from[number], self.good_to[number])
        bad = slice(self.bad_from[number], self.bad_to[number])
        runs, reasons = self.judged.good[good], self.judged.reasons[bad]
        if self._hangs_on(runs, pending):
            return ParsedPart(None, {})
        own = Judged(
            good=runs,
            positions=here.gather(self.judged.positions[good] - start),
            reasons=reasons.with_columns(here.gather(reasons["position"] - start)),
        )
        parsed = finished(
            own,
            self.cells[start:end],
            shop=self.shop,
            known=self.known,
            now=self.now,
            name_row=name_entry,
        )
        return ParsedPart(parsed, dict(_fresh(parsed.good, self.known, self.shop.own)))

    def _hangs_on(self, runs: pl.DataFrame, pending: Sequence[Names]) -> bool:
        """Whether names would be read or noted otherwise if those of earlier ones were in use."""
        strange = dict(_fresh(runs, self.known, self.shop.own))
        also = {
            name: list(dict.fromkeys(each for names in pending for each in names.get(name, ())))
            for name in strange
        }
        if not any(also.values()):
            return False
        either = match_spellings(runs, self.known, self.shop.own)
        more = {name: [*self.known.get(name, ()), *also[name]] for name in strange}
        other = match_spellings(runs, {**self.known, **more}, self.shop.own)
        return either.notes != other.notes or not either.runs.equals(other.runs)


def _plain(good: pl.DataFrame, places: Sequence[int]) -> Parsed:
    return Parsed(
        good=good,
        good_positions=pl.Series("position", places, dtype=pl.Int64),
        rejects=(),
        reasons=(),
        notes=(),
        rows=len(places),
    )


def _all_different(refs: Sequence[str | None]) -> bool:
    return None not in refs and len(set(refs)) == len(refs)


def _fresh(runs: pl.DataFrame, known: Names, own: Sequence[Own]) -> Iterator[tuple[str, list[str]]]:
    for name in open_lists(own):
        if runs[name].null_count() < runs.height:
            in_use = set(known.get(name, ()))
            strange = [each for each in dict.fromkeys(runs[name]) if each and each not in in_use]
            if strange:
                yield name, strange
