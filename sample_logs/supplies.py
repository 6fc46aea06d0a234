"""What the shop buys: the four suppliers' offers with prices, and the lots as they are opened."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

__all__ = [
    "BAD_CUT_AWAY",
    "BAD_TEAR_AWAY",
    "DOGWOOD_FROM",
    "FIRST_DAY",
    "LAST_DAY",
    "LAST_WEEK",
    "OFFERS",
    "BadLot",
    "Lot",
    "Offer",
    "draw_lots",
    "lot_in_use",
]

FIRST_DAY = dt.date(2025, 11, 17)
LAST_DAY = dt.date(2026, 11, 15)
LAST_WEEK = dt.date(2026, 11, 9)
"""Monday of 2026-W46, the week that the demonstration reviews."""
DOGWOOD_FROM = dt.date(2026, 5, 25)
"""Monday of 2026-W22: the first Dogwood delivery."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A backing that a supplier sells, and its price per square metre in the shop's currency."""

    supplier: str
    backing: str
    gsm: int
    per_m2: float


OFFERS: tuple[Offer, ...] = (
    Offer("Alder", "sheer_mesh", 40, 0.81),
    Offer("Alder", "sheer_mesh", 50, 0.92),
    Offer("Alder", "fusible_sheer_mesh", 50, 1.46),
    Offer("Alder", "cut_away", 60, 0.87),
    Offer("Alder", "cut_away", 85, 1.12),
    Offer("Alder", "tear_away", 45, 0.55),
    Offer("Alder", "tear_away", 60, 0.68),
    Offer("Alder", "adhesive", 80, 2.35),
    Offer("Birch", "sheer_mesh", 40, 0.86),
    Offer("Birch", "sheer_mesh", 50, 0.98),
    Offer("Birch", "fusible_sheer_mesh", 50, 1.52),
    Offer("Birch", "cut_away", 60, 0.93),
    Offer("Birch", "cut_away", 85, 1.19),
    Offer("Birch", "tear_away", 45, 0.58),
    Offer("Cedar", "sheer_mesh", 40, 0.74),
    Offer("Cedar", "sheer_mesh", 50, 0.84),
    Offer("Cedar", "cut_away", 60, 0.82),
    Offer("Cedar", "cut_away", 85, 1.05),
    Offer("Cedar", "tear_away", 45, 0.52),
    Offer("Cedar", "tear_away", 60, 0.64),
    Offer("Cedar", "wash_away_tear_away", 65, 0.95),
    Offer("Cedar", "water_soluble", 45, 1.38),
    Offer("Dogwood", "sheer_mesh", 50, 0.71),
    Offer("Dogwood", "cut_away", 60, 0.73),
    Offer("Dogwood", "tear_away", 45, 0.46),
)


@dataclass(frozen=True, slots=True)
class Lot:
    """One delivery of one offer, used from the day it is opened to the day the next one is."""

    name: str
    supplier: str
    backing: str
    gsm: int
    opened: dt.date


@dataclass(frozen=True, slots=True)
class BadLot:
    """A planted bad lot: its name, offer and days, and what it adds to the log odds of gaps."""

    name: str
    supplier: str
    backing: str
    gsm: int
    opened: dt.date
    last_day: dt.date
    gaps_log_odds: float


BAD_TEAR_AWAY = BadLot(
    "A2431", "Alder", "tear_away", 45, dt.date(2026, 2, 23), dt.date(2026, 3, 22), 1.8
)
BAD_CUT_AWAY = BadLot("C3188", "Cedar", "cut_away", 60, LAST_WEEK, LAST_DAY, 2.2)
FIRST_NUMBERS = {"Alder": 2431, "Birch": 1207, "Cedar": 3188, "Dogwood": 418}
STEPS = {"Alder": 7, "Birch": 6, "Cedar": 9, "Dogwood": 3}


def draw_lots(rng: np.random.Generator) -> tuple[Lot, ...]:
    """Return every lot of the year, by supplier and day of opening.

    A lot lasts four to nine weeks. Numbers rise with the day of opening within a supplier; the two
    planted lots keep the numbers they are documented under.
    """
    opened = [(offer, day) for offer in OFFERS for day in _opening_days(offer, rng)]
    lots: list[Lot] = []
    for supplier in FIRST_NUMBERS:
        own = sorted(
            ((offer, day) for offer, day in opened if offer.supplier == supplier),
            key=lambda pair: (pair[1], pair[0].backing, pair[0].gsm),
        )
        anchor = next(
            (rank for rank, (offer, day) in enumerate(own) if _planted(offer, day) is not None), 0
        )
        for rank, (offer, day) in enumerate(own):
            number = FIRST_NUMBERS[supplier] + STEPS[supplier] * (rank - anchor)
            lots.append(Lot(f"{supplier[0]}{number:04d}", supplier, offer.backing, offer.gsm, day))
    return tuple(lots)


def lot_in_use(lots: Sequence[Lot], offer: Offer, day: dt.date, rng: np.random.Generator) -> Lot:
    """Return the lot of an offer that a run takes on a day.

    In a lot's first ten days the end of the lot before is still used up now and then, except
    around the planted lots, whose weeks are documented to the day.
    """
    own = [lot for lot in lots if (lot.supplier, lot.backing, lot.gsm) == _key(offer)]
    begun = [lot for lot in own if lot.opened <= day]
    newest = begun[-1]
    leftover = rng.random() < 0.2
    planted = {BAD_TEAR_AWAY.name, BAD_CUT_AWAY.name} & {lot.name for lot in begun[-2:]}
    if leftover and len(begun) > 1 and not planted and (day - newest.opened).days < 10:
        return begun[-2]
    return newest


def _key(offer: Offer) -> tuple[str, str, int]:
    return offer.supplier, offer.backing, offer.gsm


def _planted(offer: Offer, day: dt.date) -> BadLot | None:
    for bad in (BAD_TEAR_AWAY, BAD_CUT_AWAY):
        if _key(offer) == (bad.supplier, bad.backing, bad.gsm) and day == bad.opened:
            return bad
    return None


def _opening_days(offer: Offer, rng: np.random.Generator) -> list[dt.date]:
    """Days on which an offer's lots are opened; the first is in use when the year begins."""
    days = [DOGWOOD_FROM if offer.supplier == "Dogwood" else FIRST_DAY]
    while days[-1] < LAST_DAY:
        days.append(days[-1] + dt.timedelta(days=int(rng.integers(28, 64))))
    for bad in (BAD_TEAR_AWAY, BAD_CUT_AWAY):
        if _key(offer) == (bad.supplier, bad.backing, bad.gsm):
            after = bad.last_day + dt.timedelta(days=1)
            margin = dt.timedelta(days=21)
            days = [day for day in days if not bad.opened - margin < day < after + margin]
            days = sorted({*days, bad.opened, after})
    return [day for day in days if day <= LAST_DAY]
