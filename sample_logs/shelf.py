"""What stands on the shop's shelf: prices over the years, lots as they came, makers' directions.

The newest price of every backing is that of ``OFFERS``; the lots are those that the runs name.
Makers, prices and directions are invented.
"""

import datetime as dt
import json
from collections.abc import Sequence
from typing import Any

from sample_logs.shop import FABRICS
from sample_logs.supplies import DOGWOOD_FROM, FIRST_DAY, OFFERS, Lot, Offer

__all__ = ["shelf_file"]

EARLIER: dict[str, tuple[tuple[dt.date, float], ...]] = {
    "Alder": ((dt.date(2024, 9, 2), 0.92), (dt.date(2025, 9, 1), 0.96)),
    "Birch": ((dt.date(2025, 1, 6), 0.95),),
    "Cedar": ((dt.date(2024, 10, 7), 1.06), (dt.date(2025, 10, 6), 1.03)),
    "Dogwood": (),
}
"""Prices before today's, as a part of it."""
SINCE: dict[str, dt.date] = {
    "Alder": dt.date(2026, 3, 2),
    "Birch": dt.date(2026, 1, 5),
    "Cedar": dt.date(2026, 6, 1),
    "Dogwood": DOGWOOD_FROM - dt.timedelta(days=7),
}
SOLD_BY_ROLL = "Birch"
ROLL_WIDTH_CM, ROLL_LENGTH_M = 150.0, 100.0
LOTS_UNWRITTEN = "Dogwood"
"""Nobody wrote down the deliveries of the newest supplier."""
TUESDAY = 1
ROLLS_A_LOT: dict[str, int] = {"cut_away": 4, "tear_away": 3, "sheer_mesh": 4}
FILM_PRICES = ((dt.date(2025, 3, 3), 0.36), (dt.date(2026, 2, 2), 0.39))
DIRECTIONS: dict[str, str] = {
    "cut_away": "Hoop one sheet with the goods, drum-tight but not stretched. Trim to 6 mm after "
    "sewing.",
    "tear_away": "Tears one way more easily than the other: the arrow on the roll shows which. "
    "Take sheets off one at a time, with the stitches held.",
    "sheer_mesh": "Cut across the roll for goods that stretch across. May shrink with steam: try "
    "a square first.",
    "fusible_sheer_mesh": "Rough side to the wrong side of the goods. Press, do not slide. Let it "
    "cool flat before hooping.",
    "wash_away_tear_away": "Keep dry until sewn. Tear off what comes easily, the rest goes in the "
    "first wash.",
    "water_soluble": "Keep in its bag until used. Rinse out in cool running water.",
    "adhesive": "Score the liner and peel it inside the hoop. Clean needle and hook with the "
    "machine stopped.",
}
HEAT: dict[tuple[str, str], dict[str, Any]] = {
    ("Alder", "fusible_sheer_mesh"): {
        "celsius": 140.0,
        "seconds": 10.0,
        "pressure": "medium, without steam",
    }
}
"""Of one invented leaflet; the other fusible mesh came without."""
HEAT_NOTE = "The heat setting is of an invented leaflet. Take yours from your own maker's."
CONTACTS: dict[str, str] = {
    "Alder": "orders@alder.example, delivers on Tuesdays",
    "Birch": "Mrs Lind, orders@birch.example; whole rolls only",
    "Cedar": "orders@cedar.example, ten days' notice",
    "Dogwood": "orders@dogwood.example",
}


def shelf_file(lots: Sequence[Lot]) -> str:
    """Return ``materials.json``: for each drawer, its materials as plain values."""
    shelf = {
        "backings": [_backing(offer, lots) for offer in OFFERS],
        "toppings": [
            {
                "supplier": "Alder",
                "type": "water_soluble_film",
                "prices": [
                    {"since": day.isoformat(), "amount": amount} for day, amount in FILM_PRICES
                ],
                "directions": "Lay one sheet over the goods in the hoop. Tear off, then dab what "
                "is left with a damp cloth.",
                "note": "Keep the roll in its bag: it takes up damp.",
            }
        ],
        "fabrics": [
            {
                "name": fabric.name,
                "stretch": fabric.stretch,
                "pile_mm": fabric.pile_mm,
                "sheerness": fabric.sheerness,
                "gsm": float(fabric.gsm),
            }
            for fabric in FABRICS
        ],
        "suppliers": [_supplier(name) for name in CONTACTS],
    }
    return json.dumps(shelf, indent=1, ensure_ascii=False) + "\n"


def _backing(offer: Offer, lots: Sequence[Lot]) -> dict[str, Any]:
    own = [
        lot
        for lot in lots
        if (lot.supplier, lot.backing, lot.gsm) == (offer.supplier, offer.backing, offer.gsm)
    ]
    values = {
        "supplier": offer.supplier,
        "type": offer.backing,
        "gsm": float(offer.gsm),
        "prices": _prices(offer),
        "directions": DIRECTIONS[offer.backing],
    }
    if offer.supplier != LOTS_UNWRITTEN:
        values["lots"] = [_lot(lot) for lot in own]
    heat = HEAT.get((offer.supplier, offer.backing))
    return values if heat is None else values | {"heat": heat, "note": HEAT_NOTE}


def _prices(offer: Offer) -> list[dict[str, Any]]:
    steps = [
        *((day, round(offer.per_m2 * part, 2)) for day, part in EARLIER[offer.supplier]),
        (SINCE[offer.supplier], offer.per_m2),
    ]
    if offer.supplier != SOLD_BY_ROLL:
        return [{"since": day.isoformat(), "amount": per_m2} for day, per_m2 in steps]
    area = ROLL_WIDTH_CM * ROLL_LENGTH_M / 100
    size = {"width_cm": ROLL_WIDTH_CM, "length_m": ROLL_LENGTH_M}
    return [
        {"since": day.isoformat(), "amount": round(per_m2 * area, 2), **size}
        for day, per_m2 in steps
    ]


def _lot(lot: Lot) -> dict[str, Any]:
    came = lot.opened - dt.timedelta(days=(lot.opened.weekday() - TUESDAY) % 7 or 7)
    rolls = ROLLS_A_LOT.get(lot.backing, 2)
    # What was in use when the record began came before anybody wrote deliveries down.
    day = {} if lot.opened == FIRST_DAY else {"day": came.isoformat()}
    return {"lot": lot.name, **day, "quantity": float(rolls), "unit": "rolls"}


def _supplier(name: str) -> dict[str, Any]:
    values: dict[str, Any] = {"name": name, "contact": CONTACTS[name]}
    if name == "Birch":
        values["same_mill"] = [{"supplier": "Dogwood", "backing": "tear_away"}]
    return values
