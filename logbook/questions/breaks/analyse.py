"""Whether breaks fall on one head, one needle, one colour or one part of the file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl

from logbook.errors import TooLittleData
from logbook.kernels.shares import SharesFit, against_expected
from logbook.vocabulary.break_places import SOURCE, BreakPlaceKind, Gathering, break_place
from logbook.wording import json_number, number, percent, percent_interval

QUESTION = "Do breaks fall on one head, one needle, one colour or one part of the file?"

FEWEST = 5
"""Breaks of which a place is known: with fewer no pattern can be told from chance."""
FEWEST_RUNS = 3
"""One run with a bad cone or a bent needle is no pattern yet."""
MOSTLY = 0.6
"""The share from which practitioners say "mostly one" (common practice)."""
ALPHA = 0.05


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
    fit: SharesFit
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

    def finding(self) -> str:
        """The place furthest above its share, with what it rests on."""
        at = self.fit.largest
        count, label = self.tally.counts[at], self.tally.labels[at]
        doubt = percent_interval((float(self.fit.lower[at]), float(self.fit.upper[at])))
        expected = percent(float(self.fit.expected_share[at]), 0)
        figures = (
            f"{number(count)} of {number(self.breaks)} breaks of {self.tally.subject} from "
            f"{number(self.tally.runs)} runs ({percent(self.share, 0)}, {doubt}) came at "
            f"{self.kind.label} {label}, which sewed {expected} of the stitches"
        )
        if not self.stands_out:
            return f"{figures}: no more than chance would bring."
        label = self.kind.label
        lead = f"Mostly one {label}" if self.mostly else f"One {label} takes more than its share"
        return f"{lead}: {figures}. It points to {self.kind.cause}."


@dataclass(frozen=True, slots=True, eq=False)
class BreaksResult:
    """Every tally judged, what stands out first, and those with too few breaks to judge."""

    judged: tuple[Gathered, ...]
    too_few: tuple[Tally, ...]
    notes: tuple[str, ...]

    @property
    def standing_out(self) -> tuple[Gathered, ...]:
        """What is beyond chance, the clearest first."""
        return tuple(each for each in self.judged if each.stands_out)

    def finding(self) -> str:
        """Name the clearest pattern and what to look at first; or say that there is none."""
        if not self.standing_out:
            kinds = list(dict.fromkeys(f"{each.kind.label}s" for each in self.judged))
            most = max(self.judged, key=lambda each: each.breaks)
            return (
                f"No gathering beyond chance by {' or '.join(kinds)}, as far as places are "
                f"written down ({number(most.breaks)} breaks in {number(most.tally.runs)} runs at "
                "most). Look at thread, needle size, speed and backing for all of them."
            )
        first = self.standing_out[0]
        return f"{first.finding()} Look there first: {first.kind.first_checks[0]}."

    def table(self) -> pl.DataFrame:
        """One row a place of each judged tally."""
        rows = [row for each in self.judged for row in _rows(each)]
        return pl.DataFrame(rows)

    def as_json(self) -> dict[str, Any]:
        """Shares as fractions."""
        return {
            "finding": self.finding(),
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
            "notes": list(self.notes),
        }


def analyse(tallies: Sequence[Tally]) -> BreaksResult:
    """Judge breaks by place against the stitches that each place sewed.

    Parameters
    ----------
    tallies
        One for each machine's heads and needles, and each design's colours and parts.

    Returns
    -------
    BreaksResult
        The clearest pattern first. A multinomial test of each tally (see
        :func:`logbook.kernels.shares.against_expected`), Holm's correction over the tallies:
        Holm (1979), Scandinavian Journal of Statistics 6:65-70.

    Raises
    ------
    TooLittleData
        Nobody wrote down where enough breaks happened.
    """
    able = [each for each in tallies if _can_be_judged(each)]
    too_few = tuple(each for each in tallies if each not in able)
    if not able:
        got = max((sum(each.counts) for each in tallies), default=0)
        raise TooLittleData(
            f"Where breaks happened is written down for {got} of them at most; {FEWEST} from "
            f"{FEWEST_RUNS} runs of one machine or design are needed.",
            "note the head, the needle, the colour or the stitch number when a thread breaks",
            needed=FEWEST,
            got=got,
            unit="breaks with a place",
        )
    fits = [against_expected(count=np.array(each.by_run), work=each.stitches) for each in able]
    adjusted = _holm([fit.largest_p for fit in fits])
    judged = [
        Gathered(tally, break_place(tally.gathering), fit, p_value, p_value <= ALPHA)
        for tally, fit, p_value in zip(able, fits, adjusted, strict=True)
    ]
    judged.sort(key=lambda each: (each.p_value, -each.share))
    return BreaksResult(tuple(judged), too_few, _notes(judged))


def _can_be_judged(tally: Tally) -> bool:
    enough = sum(tally.counts) >= FEWEST and tally.runs >= FEWEST_RUNS
    return enough and sum(each > 0 for each in tally.stitches) > 1


def _holm(p_values: Sequence[float]) -> list[float]:
    order = sorted(range(len(p_values)), key=lambda place: p_values[place])
    adjusted = [0.0] * len(p_values)
    highest = 0.0
    for rank, place in enumerate(order):
        highest = max(highest, min(1.0, (len(order) - rank) * p_values[place]))
        adjusted[place] = highest
    return adjusted


def _rows(each: Gathered) -> list[dict[str, Any]]:
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


def _notes(judged: Sequence[Gathered]) -> tuple[str, ...]:
    notes = []
    for subject in dict.fromkeys(each.tally.subject for each in judged):
        its = [each for each in judged if each.tally.subject == subject]
        best = max(its, key=lambda each: each.breaks)
        if best.tally.unsaid > best.breaks:
            notes.append(
                f"Most breaks of {subject} have no place written down; if only odd ones are "
                "noted, the shares are bent by that."
            )
    if any(each.stands_out for each in judged):
        notes.append(
            f"What to look at first is {SOURCE}. Stop the machine before reaching to needles or "
            "thread, and follow its maker's instructions."
        )
    return tuple(notes)
