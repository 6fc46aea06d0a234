"""What was touched, in words."""

from __future__ import annotations

import math

from logbook.questions.table import Section
from logbook.questions.trace.result import Counts, TraceResult
from logbook.runs.factors import factor_label, level_label
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.wording import money, number, so_many

MANY = 40
"""So many runs are listed openly; more are folded away."""


def title(result: TraceResult) -> str:
    """Say what is followed."""
    return f"what {_of(result)} touched"


def headline(result: TraceResult) -> str:
    """Count what was touched."""
    if not result.runs.height:
        return f"No run has {_of(result)}."
    parts = [
        so_many(result.runs.height, "run"),
        so_many(len(result.jobs), "job"),
        so_many(len(result.customers), "customer"),
        so_many(result.pieces_sewn, "piece"),
    ]
    told = [each for each in parts if not each.startswith("0 ")]
    first, last = (result.runs["finished_at"].item(at).date() for at in (0, -1))
    listed = f"{', '.join(told[:-1])} and {told[-1]}" if len(told) > 1 else told[0]
    return f"{_upper(_of(result))} touched {listed}, from {_day(first)} to {_day(last)}."


def pressing(result: TraceResult) -> tuple[str, ...]:  # noqa: ARG001 - nothing misleads here
    """Nothing misleads beside the headline."""
    return ()


def sentences(result: TraceResult) -> tuple[str, ...]:
    """What the runs showed beyond expectation, and what it cost."""
    above = sorted(
        (each for each in result.counts if _above(each) >= 1.0), key=_above, reverse=True
    )
    said = [
        f"{each.kind.label}: {number(each.observed)} where {number(each.expected or 0.0)} "
        "were to be expected."
        for each in above[:3]
    ]
    if result.runs.height and math.isfinite(result.money):
        said.append(f"Defects of these runs cost {money(result.money, result.currency)}.")
    return tuple(said)


def sections(result: TraceResult) -> tuple[Section, ...]:
    """Runs that are held stand above everything else."""
    if not result.held:
        return ()
    return (Section("HELD", (", ".join(result.held), BROKEN_NEEDLE_HELD), alarm=True),)


def notes(result: TraceResult) -> tuple[str, ...]:
    """What to keep in mind."""
    said = []
    if any(each.expected is not None for each in result.counts):
        said.append(
            "Expected is what such jobs and setups showed in all other runs, whatever is followed "
            "left out."
        )
    unsaid = [each.kind.label.lower() for each in result.counts if each.expected is None]
    if unsaid:
        said.append(f"No other run showed it, so nothing can be expected of: {', '.join(unsaid)}.")
    if result.unpriced:
        said.append(f"Not in the money, since nobody wrote it down: {', '.join(result.unpriced)}.")
    without = int(result.runs["job"].null_count())
    if without:
        said.append(f"{so_many(without, 'run')} {'names' if without == 1 else 'name'} no job.")
    if result.costs_assumed and math.isfinite(result.money) and result.money:
        said.append("Money is worked out with usual costs; put your own in shop.toml.")
    return tuple(said)


def _of(result: TraceResult) -> str:
    return " and ".join(
        f"{factor_label(name).lower()} {level_label(name, level)}"
        for name, level in result.of.items()
    )


def _above(each: Counts) -> float:
    return 0.0 if each.expected is None else each.observed - each.expected


def _day(day: object) -> str:
    return f"{day:%-d %B %Y}"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
