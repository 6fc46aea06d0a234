"""Breaks by place, judged: what each tally holds, and the fields of the answer's JSON."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl
from typing_extensions import TypedDict

from logbook.kernels.event_shares import EventSharesFit
from logbook.vocabulary.break_places import SOURCE, BreakPlaceKind, Gathering
from logbook.wording import json_number

MOSTLY = 0.6
"""The share from which practitioners say "mostly one" (common practice)."""


class PlaceJson(TypedDict):
    """One place: its breaks, and its share of them beside its share of the stitches."""

    gathering: Gathering
    subject: str
    label: str
    count: int
    stitches: float
    share: float | None
    interval: list[float | None]
    expected_share: float | None


class PatternJson(TypedDict):
    """One tally, judged."""

    gathering: Gathering
    subject: str
    stands_out: bool
    mostly_one: bool
    p_value: float | None
    breaks: int
    runs: int
    breaks_without_place: int
    places: list[PlaceJson]
    look_at_first: list[str]
    source: str


class AnswerJson(TypedDict):
    """Shares as fractions."""

    patterns: list[PatternJson]


@dataclass(frozen=True, slots=True)
class Tally:
    """Breaks by place, with the stitches that each place sewed.

    Attributes
    ----------
    gathering
        What the places are: heads, needles, colour steps or parts of a file.
    subject
        Of what machine or design, as people say it.
    labels
        (K,) the places.
    by_run
        (R, K) breaks in each, run by run.
    stitches
        (K,) what each sewed.
    unsaid
        Breaks of the same subject whose place nobody wrote down.
    """

    gathering: Gathering
    subject: str
    labels: tuple[str, ...]
    by_run: tuple[tuple[int, ...], ...]
    stitches: tuple[float, ...]
    unsaid: int = 0

    @property
    def counts(self) -> tuple[int, ...]:
        """(K,) breaks in each place."""
        return tuple(map(sum, zip(*self.by_run, strict=True))) or (0,) * len(self.labels)

    @property
    def runs(self) -> int:
        """Runs of which a place is known."""
        return sum(any(counts) for counts in self.by_run)


@dataclass(frozen=True, slots=True, eq=False)
class Gathered:
    """One tally, judged.

    ``p_value`` is of the place furthest above its share, having looked at every place of every
    tally (Holm 1979). ``stands_out`` says whether that is beyond chance.
    """

    tally: Tally
    kind: BreakPlaceKind
    fit: EventSharesFit
    p_value: float
    stands_out: bool

    @property
    def breaks(self) -> int:
        """Breaks whose place is known."""
        return sum(self.tally.counts)

    @property
    def mostly(self) -> bool:
        """Whether one place has most of them, and that beyond chance."""
        return self.stands_out and self.share >= MOSTLY

    @property
    def share(self) -> float:
        """Share of the place furthest above its own."""
        return float(self.fit.share[self.fit.largest])


@dataclass(frozen=True, slots=True, eq=False)
class BreaksResult:
    """Every tally judged, what stands out first, and those with too few breaks to judge."""

    judged: tuple[Gathered, ...]
    too_few: tuple[Tally, ...]

    @property
    def standing_out(self) -> tuple[Gathered, ...]:
        """What is beyond chance, the clearest first."""
        return tuple(each for each in self.judged if each.stands_out)

    def table(self) -> pl.DataFrame:
        """One row a place of each judged tally."""
        rows = [row for each in self.judged for row in _rows(each)]
        return pl.DataFrame(rows)

    def as_json(self) -> AnswerJson:
        """Shares as fractions."""
        return {
            "patterns": [
                {
                    "gathering": each.tally.gathering,
                    "subject": each.tally.subject,
                    "stands_out": each.stands_out,
                    "mostly_one": each.mostly,
                    "p_value": json_number(each.p_value),
                    "breaks": each.breaks,
                    "runs": each.tally.runs,
                    "breaks_without_place": each.tally.unsaid,
                    "places": _rows(each),
                    "look_at_first": list(each.kind.first_checks) if each.stands_out else [],
                    "source": SOURCE,
                }
                for each in self.judged
            ],
        }


def _rows(each: Gathered) -> list[PlaceJson]:
    return [
        {
            "gathering": each.tally.gathering,
            "subject": each.tally.subject,
            "label": label,
            "count": each.tally.counts[at],
            "stitches": each.tally.stitches[at],
            "share": json_number(float(each.fit.share[at])),
            "interval": [
                json_number(float(each.fit.lower[at])),
                json_number(float(each.fit.upper[at])),
            ],
            "expected_share": json_number(float(each.fit.expected_share[at])),
        }
        for at, label in enumerate(each.tally.labels)
    ]
