"""What the watch should have found, week by week, against what it found."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import polars as pl
from watched_shops import Planted, Shop, shop_of, watched

from logbook.questions.watch.result import Finding

FIRST_WEEK = 13
"""Weeks of the year before which the record is short."""
LOT = "X9001"
MANY_WEEKS = 11


@dataclass(frozen=True, slots=True)
class Outcome:
    """When a planted change was told, in weeks from its first: 1 in that very week; 0 never.

    ``named`` is said of the right level, or of the confounded pair that holds it; ``first`` of
    everything told that week.
    """

    world: int
    suspected: int
    found: int
    first: int
    wrong: int
    """Findings of other levels or kinds while it was there."""


@dataclass(frozen=True, slots=True)
class Quiet:
    """False episodes of one year without change."""

    world: int
    weeks: int
    found: int
    suspected: int


def quiet_year(world: int, *, weeks: int | None = None) -> Quiet:
    """Watch a year in which nothing changes; the same departure in following weeks counts once."""
    shop = replace(shop_of(world), planted=[])
    asked = shop.weeks[FIRST_WEEK:][:weeks]
    told = watched(shop, asked)
    return Quiet(
        world,
        len(asked),
        _episodes(told[week] for week in asked),
        _episodes((told[week] for week in asked), suspected=True),
    )


def _episodes(weeks: Iterable[tuple[Finding, ...]], *, suspected: bool = False) -> int:
    before: set[str] = set()
    count = 0
    for found in weeks:
        now = {each.ref for each in found if suspected or each.grade == "found"}
        count += len(now - before)
        before = now
    return count


def bad_lot(world: int) -> Outcome:
    """A lot of the commonest backing, 400 pieces a week for four weeks, six times the odds."""
    rng = np.random.default_rng([world, 1])
    shop = shop_of(world)
    start = int(rng.integers(16, len(shop.weeks) - 5))
    changed, own = _with_lot(shop, start, 4, rng)
    kind = str(rng.choice(["gaps", "puckering", "coverage", "sinking"]))
    planted = [Planted(kind, own, np.log(6.0))]
    asked = changed.weeks[start : start + 4]
    told = watched(replace(changed, planted=planted), asked)
    return _outcome(world, asked, told, kind, "above", {"backing_lot": LOT})


def drift(world: int) -> Outcome:
    """One of five machines breaks its thread 7.8 % more each week."""
    rng = np.random.default_rng([world, 2])
    shop = shop_of(world)
    start = int(rng.integers(16, len(shop.weeks) - MANY_WEEKS))
    machine = str(rng.choice(sorted(shop.sheet["machine"].unique())))
    own = (shop.sheet["machine"] == machine).to_numpy()
    place = np.searchsorted(shop.weeks, shop.week)
    worn = np.fmax(place - start + 1, 0) * np.log(1.078)
    planted = [Planted("thread_breaks", own, worn)]
    asked = shop.weeks[start : start + MANY_WEEKS]
    told = watched(replace(shop, planted=planted), asked)
    return _outcome(world, asked, told, "thread_breaks", "above", {"machine": machine})


def helped(world: int) -> Outcome:
    """Film comes in on two fabrics in 2026-W30 and cuts sinking to a fifth."""
    shop = shop_of(world)
    start = shop.weeks.index("2026-W30")
    film = (shop.sheet["topping"] == "water_soluble_film").fill_null(False).to_numpy()
    own = film & shop.sheet["fabric"].is_in(["polar fleece", "terry towel"]).to_numpy()
    usual = shop.sheet["fabric"].is_in(["polar fleece", "terry towel"]).to_numpy()
    planted = [Planted("sinking", usual, np.log(3.0)), Planted("sinking", own, np.log(0.2))]
    asked = shop.weeks[start : start + 5]
    told = watched(replace(shop, planted=planted), asked)
    return min(
        (
            _outcome(world, asked, told, "sinking", "below", level)
            for level in (
                {"topping": "water_soluble_film"},
                {"fabric": "polar fleece"},
                {"fabric": "terry towel"},
            )
        ),
        key=lambda each: each.suspected or 99,
    )


def two_causes(world: int) -> tuple[Outcome, Outcome]:
    """In one week a bad lot (odds six times) and a worn hoop (five times on one machine)."""
    rng = np.random.default_rng([world, 3])
    shop = shop_of(world)
    start = int(rng.integers(16, len(shop.weeks) - 5))
    changed, own = _with_lot(shop, start, 3, rng)
    machine = str(rng.choice(sorted(shop.sheet["machine"].unique())[:3]))
    on_machine = (shop.sheet["machine"] == machine).to_numpy() & (shop.week >= shop.weeks[start])
    planted = [
        Planted("gaps", own, np.log(6.0)),
        Planted("gaps", on_machine, np.log(5.0)),
    ]
    asked = changed.weeks[start : start + 3]
    told = watched(replace(changed, planted=planted), asked)
    lot, hoop = {"backing_lot": LOT}, {"machine": machine}
    return (
        _outcome(world, asked, told, "gaps", "above", lot, also=hoop),
        _outcome(world, asked, told, "gaps", "above", hoop, also=lot),
    )


def _with_lot(
    shop: Shop, start: int, weeks: int, rng: np.random.Generator
) -> tuple[Shop, np.ndarray]:
    """Give some 400 pieces a week of one supplier's backing a lot of their own."""
    pairs = shop.sheet.group_by("backing_supplier", "backing").agg(pl.col("pieces_sewn").sum())
    pairs = pairs.drop_nulls().filter(pl.col("backing") != "none").sort("pieces_sewn")
    supplier, backing = pairs.row(-1 - int(rng.integers(0, 2)))[:2]
    fits = (
        ((shop.sheet["backing_supplier"] == supplier) & (shop.sheet["backing"] == backing))
        .fill_null(False)
        .to_numpy()
    )
    own = np.zeros(shop.sheet.height, dtype=bool)
    pieces = shop.sheet["pieces_sewn"].to_numpy()
    for week in shop.weeks[start : start + weeks]:
        rows = rng.permutation(np.flatnonzero(fits & (shop.week == week)))
        own[rows[: int(np.searchsorted(np.cumsum(pieces[rows]), 400)) + 1]] = True
    lots = pl.when(pl.Series(own)).then(pl.lit(LOT)).otherwise(pl.col("backing_lot"))
    sheet = shop.sheet.with_columns(lots.alias("backing_lot"))
    return replace(shop, sheet=sheet), own


def _outcome(
    world: int,
    asked: list[str],
    told: dict[str, tuple[Finding, ...]],
    kind: str,
    direction: str,
    level: dict[str, str],
    also: dict[str, str] | None = None,
) -> Outcome:
    suspected = found = first = 0
    wrong: set[str] = set()
    for number, week in enumerate(asked, start=1):
        for place, each in enumerate(told[week]):
            right = (each.kind.name, each.direction) == (kind, direction)
            named = [dict(each.level), *map(dict, each.confounded_with)]
            if right and any(level.items() <= one.items() for one in named):
                suspected = suspected or number
                found = found or (number if each.grade == "found" else 0)
                first = first or (number if place == 0 else 0)
            elif not (right and also and any(also.items() <= one.items() for one in named)):
                wrong.add(each.ref)
    return Outcome(world, suspected, found, first, len(wrong))
