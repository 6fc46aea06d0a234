"""Prints how often trials of a change are judged rightly, in shops whose truth is known.

    python tests/benchmarks/bench_trials.py --trials 2000

``different`` is the share of trials called different: of equal setups a false alarm (5 % is
promised), of setups that differ the power (80 % is planned). ``pooled`` takes every piece for
itself, as if runs had no luck of their own: it shows why the trial is judged by pairs. Pairs are
planned with the square of the spread of runs in log odds for overdispersion, or with what a record
of such runs would show, which is larger where tails are long.
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "calibration"))

from invented_trials import BASE, HEAVY, UNEVEN, TrialWorld, overdispersion_on_record
from trial_measures import Measured, judge_trials, watch_trials

from logbook.kernels.trials import pairs_with_looks, plan

ALIKE, BETTER = (0.04, 0.04), (0.04, 0.028)


@dataclass(frozen=True, slots=True)
class Row:
    """A world, what is changed in it, and the pieces of each arm and pair."""

    name: str
    world: TrialWorld
    pieces: int
    better: tuple[float, float] = BETTER
    from_record: bool = False


ROWS = (
    Row("base", BASE, 50),
    Row("base", BASE, 100),
    Row("base, overdispersion of the record", BASE, 100, from_record=True),
    Row("base, uneven runs", UNEVEN, 50),
    Row("base, a third", BASE, 50, (0.04, 0.013)),
    Row("base, rare", BASE, 50, (0.01, 0.003)),
    Row("heavy", HEAVY, 50),
    Row("heavy", HEAVY, 100),
    Row("heavy, overdispersion of the record", HEAVY, 100, from_record=True),
    Row("heavy, rare", HEAVY, 50, (0.01, 0.003)),
)


def main() -> None:
    """Print tables: finished trials, watched ones, those looked at pair by pair, few lots."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--trials", type=int, default=2000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--only", choices=["finished", "watched", "peeked", "lots"])
    options = asked.parse_args()
    asked_for = {"finished": _finished, "watched": _watched, "peeked": _peeked, "lots": _lots}
    for name, table in asked_for.items():
        if options.only not in (None, name):
            continue
        started = time.perf_counter()
        table(options.trials, options.seed)
        _say(f"\n({options.trials:,} trials a row, {time.perf_counter() - started:.0f} s)\n")


def _finished(trials: int, seed: int) -> None:
    _head(
        "world", "pieces", "pairs", "truth", "different", "by signs", "pooled", "cover", "no worse"
    )
    for row in ROWS:
        rate_now, changed = row.better
        planned = plan(
            rate_now=rate_now,
            rate_changed=changed,
            pieces_per_arm_and_pair=row.pieces,
            overdispersion=overdispersion_on_record(row.world, rate_now)
            if row.from_record
            else row.world.overdispersion,
        )
        pairs = planned.pairs or 0
        gap = rate_now - changed
        for truth, rates in (
            ("alike", (rate_now, rate_now)),
            ("better", row.better),
            ("worse by the margin", (rate_now, rate_now + gap)),
        ):
            found = judge_trials(
                row.world,
                rates=rates,
                pairs=pairs,
                pieces=row.pieces,
                trials=trials,
                margin=gap,
                seed=seed,
            )
            _row(
                row.name,
                str(row.pieces),
                str(pairs),
                truth,
                *_figures(found, "called_different", "by_signs", "pooled", "covered", "no_worse"),
            )


def _watched(trials: int, seed: int) -> None:
    _head(
        "looks at a trial of 74 pairs of 100", "bounds", "false alarms", "cover", "power", "pairs"
    )
    every_four = (*range(8, 74, 4), 74)
    for name, looks in (
        ("one, at the end", (74,)),
        ("five", (15, 30, 44, 59, 74)),
        ("every four pairs", every_four),
    ):
        for bounded in (False, True):
            alike, better = (
                watch_trials(
                    BASE,
                    rates=rates,
                    pairs=74,
                    pieces=100,
                    looks=looks,
                    trials=trials,
                    bounded=bounded,
                    seed=seed,
                )
                for rates in (ALIKE, BETTER)
            )
            _row(
                name,
                "spending" if bounded else "none",
                *_figures(alike, "called_different", "covered"),
                *_figures(better, "called_different", "pairs"),
            )


def _peeked(trials: int, seed: int) -> None:
    """Trials as the product plans them: looked at after every pair, ended at the first verdict."""
    _head("world", "pieces", "pairs", "looks", "false alarms", "cover", "power", "pairs sewn")
    for row in ROWS:
        rate_now, changed = row.better
        kept = row.world.overdispersion
        if row.from_record:
            kept = overdispersion_on_record(row.world, rate_now)
        once = plan(
            rate_now=rate_now,
            rate_changed=changed,
            pieces_per_arm_and_pair=row.pieces,
            overdispersion=kept,
        )
        pairs, looks = pairs_with_looks(once.pairs or 0)
        alike, better = (
            watch_trials(
                row.world,
                rates=rates,
                pairs=pairs,
                pieces=row.pieces,
                looks=looks,
                trials=trials,
                bounded=True,
                seed=seed,
            )
            for rates in ((rate_now, rate_now), row.better)
        )
        _row(
            row.name,
            str(row.pieces),
            str(pairs),
            str(len(looks)),
            *_figures(alike, "called_different", "covered"),
            *_figures(better, "called_different", "pairs"),
        )


def _lots(trials: int, seed: int) -> None:
    _head("lots each (spread 0.3)", "lots counted", "pairs", "false alarms", "cover", "power")
    world = replace(BASE, lot_sd=0.3)
    for lots, pairs, changed in ((1, 74, 0.028), (4, 74, 0.028), (7, 65, 0.02), (65, 65, 0.02)):
        for counted in (False, True):
            alike, better = (
                judge_trials(
                    world,
                    rates=(0.04, after),
                    pairs=pairs,
                    pieces=100 if changed == 0.028 else 50,
                    trials=trials,
                    lots=lots,
                    lots_counted=counted,
                    draws=1,
                    seed=seed,
                )
                for after in (0.04, changed)
            )
            _row(
                str(lots),
                "yes" if counted else "no",
                str(pairs),
                *_figures(alike, "called_different", "covered"),
                *_figures(better, "called_different"),
            )


def _figures(found: Measured, *names: str) -> list[str]:
    return [f"{getattr(found, name):.1f}" for name in names]


def _head(*names: str) -> None:
    _row(*names)
    _row(*("-" for _ in names))


def _row(*parts: str) -> None:
    _say(f"| {' | '.join(parts)} |")


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
