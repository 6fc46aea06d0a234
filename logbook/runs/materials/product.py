"""A backing or topping that a supplier sells, with its prices, lots and its maker's directions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any, Literal, TypeAlias

from logbook.runs.materials import checking
from logbook.runs.materials.checking import refuse
from logbook.vocabulary.backings import BACKING_SHADES, BACKINGS
from logbook.vocabulary.choices import ChoiceList
from logbook.vocabulary.setup_lists import TOPPINGS

Sort: TypeAlias = Literal["backing", "topping"]
SORTS: Mapping[Sort, ChoiceList] = {"backing": BACKINGS, "topping": TOPPINGS}
"""What may be kept with prices and lots, and the closed list of its types."""
LOT_UNITS: Mapping[str, str] = {"m2": "m²", "rolls": "rolls", "sheets": "sheets"}
HOTTEST_CELSIUS = 300.0
"""Above it a setting is most likely in °F; it is no advice of ours."""
_NAME_OF_UNIT = "unit of the quantity"


@dataclass(frozen=True, slots=True)
class Roll:
    """The size of a roll, by which its price becomes one per square metre."""

    width_cm: float
    length_m: float

    @property
    def area_m2(self) -> float:
        """Square metres on the roll."""
        return self.width_cm * self.length_m / 100.0


@dataclass(frozen=True, slots=True)
class PriceStep:
    """What is asked from a day on, per square metre or for a roll, in the shop's currency."""

    since: date
    amount: float
    roll: Roll | None = None

    @property
    def per_m2(self) -> float:
        """The price per square metre."""
        return self.amount if self.roll is None else self.amount / self.roll.area_m2


@dataclass(frozen=True, slots=True)
class LotReceived:
    """One lot that came in; the day and how much are None where nobody wrote them down."""

    lot: str
    day: date | None = None
    quantity: float | None = None
    unit: str = "m2"


@dataclass(frozen=True, slots=True)
class HeatSetting:
    """How hot, how long and how hard to press, as the maker gives it; never a value of ours."""

    celsius: float | None = None
    seconds: float | None = None
    pressure: str | None = None


@dataclass(frozen=True, slots=True)
class Product:
    """One backing or topping of one supplier.

    Attributes
    ----------
    sort
        ``backing`` or ``topping``.
    supplier
        Who sells it.
    type
        A value of the closed list of backings or of toppings, never ``none``.
    gsm
        Weight, g/m²; None: every weight that the supplier sells of it.
    shade
        A backing's; None: every shade.
    prices
        Oldest first.
    lots
        In the order in which they came in; those without a day first.
    directions
        The maker's, word for word.
    """

    sort: Sort
    supplier: str
    type: str
    gsm: float | None = None
    shade: str | None = None
    note: str | None = None
    prices: tuple[PriceStep, ...] = ()
    lots: tuple[LotReceived, ...] = ()
    directions: str | None = None
    heat: HeatSetting | None = None

    @property
    def type_label(self) -> str:
        """The type as people read it."""
        return SORTS[self.sort].label_of(self.type)

    @property
    def name(self) -> str:
        """What it is called: ``Alder cut-away, 60 g/m², black``."""
        parts = [f"{self.supplier} {self.type_label.lower()}"]
        if self.gsm is not None:
            parts.append(f"{self.gsm:g} g/m²")
        if self.shade is not None:
            parts.append(BACKING_SHADES.label_of(self.shade).lower())
        return ", ".join(parts)

    def price_on(self, day: date) -> PriceStep | None:
        """The newest price that has begun by a day; None before the first."""
        begun = [step for step in self.prices if step.since <= day]
        return begun[-1] if begun else None

    def plain(self) -> dict[str, Any]:
        """Plain values, as a document keeps them; what is not known is left out."""
        values = {
            "supplier": self.supplier,
            "type": self.type,
            "gsm": self.gsm,
            "shade": self.shade,
            "note": self.note,
            "prices": [_price_plain(step) for step in self.prices],
            "lots": [_lot_plain(lot) for lot in self.lots],
            "directions": self.directions,
            "heat": None if self.heat is None else _known(_heat_plain(self.heat)),
        }
        return _known(values)


def product_from(sort: Sort, values: Mapping[str, Any]) -> Product:
    """Read a backing or topping from plain values.

    Parameters
    ----------
    sort
        Which of the two.
    values
        As :meth:`Product.plain` gives them; days also as dates, types and shades in any spelling
        of the trade.

    Raises
    ------
    RecordError
        A value cannot be; ``reasons`` maps its name to the sentence.
    """
    fields = [name for name in Product.__dataclass_fields__ if name != "sort"]
    values = checking.table(values, sort, fields)
    supplier = checking.name(values, "supplier", "the supplier")
    kind = checking.choice(values, "type", f"the {sort}", SORTS[sort])
    if kind is None or kind == "none":
        refuse("type", f"the type of {sort} is missing")
    shade = checking.choice(values, "shade", "the shade", BACKING_SHADES)
    if shade is not None and sort == "topping":
        refuse("shade", "a topping has no shade")
    return Product(
        sort=sort,
        supplier=supplier,
        type=kind,
        gsm=checking.number(values, "gsm", "the weight in g/m²", above_zero=True),
        shade=shade,
        note=checking.text(values, "note", "the note"),
        prices=_prices(values),
        lots=_lots(values),
        directions=checking.text(values, "directions", "the directions"),
        heat=_heat(values),
    )


def _known(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value not in (None, [])}


def _price_plain(step: PriceStep) -> dict[str, Any]:
    roll = step.roll
    size = {} if roll is None else {"width_cm": roll.width_cm, "length_m": roll.length_m}
    return {"since": step.since.isoformat(), "amount": step.amount} | size


def _lot_plain(lot: LotReceived) -> dict[str, Any]:
    arrived = None if lot.day is None else lot.day.isoformat()
    values = {"lot": lot.lot, "day": arrived, "quantity": lot.quantity, "unit": lot.unit}
    return _known(values)


def _heat_plain(heat: HeatSetting) -> dict[str, Any]:
    return {"celsius": heat.celsius, "seconds": heat.seconds, "pressure": heat.pressure}


def _prices(values: Mapping[str, Any]) -> tuple[PriceStep, ...]:
    steps = sorted(map(_price, checking.rows(values, "prices")), key=lambda step: step.since)
    for one, other in pairwise(steps):
        if one.since == other.since:
            refuse("prices", f"two prices begin on {one.since}", "keep one of them")
    return tuple(steps)


def _price(entry: object) -> PriceStep:
    values = checking.table(entry, "price", ("since", "amount", "width_cm", "length_m"))
    since = checking.day(values, "since", "the day from which a price holds")
    amount = checking.number(values, "amount", "the price")
    if since is None:
        refuse("since", "the day from which a price holds is missing")
    if amount is None:
        refuse("amount", "the price is missing")
    width = checking.number(values, "width_cm", "the width of the roll", above_zero=True)
    length = checking.number(values, "length_m", "the length of the roll", above_zero=True)
    if (width is None) != (length is None):
        refuse(
            "length_m" if length is None else "width_cm",
            "a price for a roll needs the roll's width and its length",
        )
    roll = None if width is None or length is None else Roll(width, length)
    if roll is not None and not 0 < roll.area_m2 < float("inf"):
        refuse("length_m", "the roll's width and length make no area")
    return PriceStep(since, amount, roll)


def _lots(values: Mapping[str, Any]) -> tuple[LotReceived, ...]:
    lots = sorted(map(_lot, checking.rows(values, "lots")), key=lambda lot: lot.day or date.min)
    seen = set()
    for each in lots:
        if (each.lot, each.day) in seen:
            when = "" if each.day is None else f" on {each.day}"
            refuse("lots", f"lot {each.lot} is told twice{when}", "keep one of them")
        seen.add((each.lot, each.day))
    return tuple(lots)


def _lot(entry: object) -> LotReceived:
    values = checking.table(entry, "lot", ("lot", "day", "quantity", "unit"))
    lot = checking.name(values, "lot", "the lot")
    unit = checking.text(values, "unit", f"the {_NAME_OF_UNIT}") or "m2"
    if unit not in LOT_UNITS:
        refuse("unit", f"the {_NAME_OF_UNIT} is {unit!r}; it is {', '.join(LOT_UNITS)}")
    quantity = checking.number(values, "quantity", "the quantity of a lot")
    return LotReceived(
        lot, checking.day(values, "day", "the day on which a lot came"), quantity, unit
    )


def _heat(values: Mapping[str, Any]) -> HeatSetting | None:
    if values.get("heat") is None:
        return None
    heat = checking.table(values["heat"], "heat setting", ("celsius", "seconds", "pressure"))
    celsius = checking.number(heat, "celsius", "the temperature in °C", above_zero=True)
    if celsius is not None and celsius > HOTTEST_CELSIUS:
        refuse(
            "celsius",
            f"the temperature is {celsius:g} °C, hotter than any press",
            "is it in °F? Write it in °C",
        )
    found = HeatSetting(
        celsius,
        checking.number(heat, "seconds", "the time in seconds", above_zero=True),
        checking.text(heat, "pressure", "the pressure", longest=checking.LONGEST_NAME),
    )
    return None if found == HeatSetting() else found
