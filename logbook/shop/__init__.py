"""A shop's own settings: what ``shop.toml`` says, checked and frozen.

Reading the file is the store's work; here a mapping becomes a :class:`Shop`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from typing import Any
from zoneinfo import ZoneInfo

from logbook.errors import SettingsError
from logbook.shop.allowances import Allowances, allowances_from
from logbook.shop.own_columns import OWN_NAME, asked_columns, own_columns
from logbook.shop.shifts import Shift, shifts_from
from logbook.shop.tables import (
    PLACE,
    amount_of,
    choice_of,
    no_strangers,
    optional_amount,
    optional_choice,
    rows_of,
    table_of,
    text_of,
)
from logbook.vocabulary.backings import BACKINGS
from logbook.vocabulary.defects import DEFECT_KINDS, DefectKind
from logbook.vocabulary.fabrics import FABRIC_ATTRIBUTES
from logbook.vocabulary.own_columns import Own, OwnColumn

_ATTRIBUTES = {attribute.column: attribute for attribute in FABRIC_ATTRIBUTES}
BACKUPS_KEPT = 14


@dataclass(frozen=True, slots=True)
class Costs:
    """What a defect costs, in the shop's currency.

    The starting values are of the usual order in contract work (common practice); a shop
    puts its own in ``[costs]``.
    """

    piece_value: float = 14.50
    """Garment plus the work in it: what is lost when a piece is spoiled."""
    labour_minute: float = 0.45
    machine_hour: float = 6.00
    """Rent, power and upkeep of one machine for an hour."""
    rework_minutes_per_piece: float = 8.0
    """Used for reworked pieces of runs that did not record their minutes."""
    minutes_per_thread_break: float = 1.0
    minutes_per_needle_break: float = 6.0
    minutes_per_bird_nest: float = 4.0
    minutes_per_other_event: float = 2.0
    """For event kinds of the shop's own."""
    sheet_area_m2: float = 0.04
    """Backing used for one piece and one layer: a 20 x 20 cm sheet."""
    cutting_waste: float = 0.10
    """Share of backing lost in cutting."""

    def minutes_per_event(self, kind: str) -> float:
        """Minutes that one event of a kind stops the machine."""
        return {
            "thread_breaks": self.minutes_per_thread_break,
            "needle_breaks": self.minutes_per_needle_break,
            "bird_nests": self.minutes_per_bird_nest,
        }.get(kind, self.minutes_per_other_event)

    @property
    def stopped_minute(self) -> float:
        """Cost of one minute in which a machine and its operator stand still."""
        return self.labour_minute + self.machine_hour / 60.0


@dataclass(frozen=True, slots=True)
class Price:
    """What a supplier asks for a backing, per square metre."""

    supplier: str
    backing: str
    per_m2: float
    gsm: float | None = None


@dataclass(frozen=True, slots=True)
class ToppingPrice:
    """What a topping costs per square metre."""

    topping: str
    per_m2: float


@dataclass(frozen=True, slots=True)
class FabricFacts:
    """Attributes that the shop gives to one of its fabrics."""

    name: str
    stretch: str | None = None
    pile_mm: float | None = None
    sheerness: str | None = None
    gsm: float | None = None


@dataclass(frozen=True, slots=True)
class SameMill:
    """Suppliers that the shop believes to sell the same mill's backing."""

    suppliers: tuple[str, ...]
    backing: str | None = None


@dataclass(frozen=True, slots=True)
class DailyBackups:
    """Where a backup goes each day that the service runs, and how many are kept."""

    folder: str
    """As written in the settings; a relative one lies in the book's folder."""
    keep: int = BACKUPS_KEPT


@dataclass(frozen=True, slots=True)
class Shop:
    """All settings of one shop.

    ``costs_assumed`` is true while the shop has not given costs of its own; results that
    rest on money then say so.
    """

    name: str = "Our shop"
    currency: str = "EUR"
    timezone: str = "UTC"
    costs: Costs = field(default_factory=Costs)
    costs_assumed: bool = True
    prices: tuple[Price, ...] = ()
    topping_prices: tuple[ToppingPrice, ...] = ()
    """One a topping; the settings file has none, the shop's materials do."""
    fabrics: tuple[FabricFacts, ...] = ()
    same_mill: tuple[SameMill, ...] = ()
    own_kinds: tuple[DefectKind, ...] = ()
    own_columns: tuple[OwnColumn, ...] = ()
    allowances: Allowances = field(default_factory=Allowances)
    """What customers allow to be spoiled."""
    shifts: tuple[Shift, ...] = ()
    """What the shift of a run is made from, where the run does not say it."""
    asked: tuple[str, ...] = ()
    """Columns that the form asks for though no run has them yet."""
    backup: DailyBackups | None = None
    """None while no daily backups are asked for."""

    @property
    def kinds(self) -> tuple[DefectKind, ...]:
        """The trade's defect kinds and after them the shop's own."""
        return DEFECT_KINDS + self.own_kinds

    @property
    def own(self) -> tuple[Own, ...]:
        """What the shop has added to the run sheet: its columns, then its defect kinds."""
        return (*self.own_columns, *self.own_kinds)


def shop_from(settings: Mapping[str, Any]) -> Shop:
    """Check the tables of ``shop.toml`` and freeze them.

    Parameters
    ----------
    settings
        The parsed file: tables ``shop``, ``costs``, ``columns``, ``form``, ``allowances`` and
        ``backup``, lists of tables ``price``, ``fabric``, ``same_mill``, ``shift`` and
        ``defect_kind``; every one may be absent.

    Raises
    ------
    SettingsError
        A value of the wrong type, a negative cost, an unknown key, an unknown time zone, backing
        or fabric attribute, or a defect kind whose name is taken; the message names the table
        and key.
    """
    known = {"shop", "costs", "backup", "form", "price", "fabric", "same_mill"}
    known |= {"defect_kind", "columns", "shift", "allowances"}
    if unknown := sorted(set(settings) - known):
        raise SettingsError(
            f"{PLACE} has a table [{unknown[0]}] that is not understood.",
            f"tables are: {', '.join(sorted(known))}",
        )
    own = _own_kinds(rows_of(settings, "defect_kind"))
    head = table_of(settings, "shop", {"name", "currency", "timezone"})
    costs = table_of(settings, "costs", {item.name for item in fields(Costs)})
    return Shop(
        name=text_of(head, "shop", "name", "Our shop"),
        currency=text_of(head, "shop", "currency", "EUR"),
        timezone=_zone(text_of(head, "shop", "timezone", "UTC")),
        costs=Costs(**{key: amount_of(costs, "costs", key) for key in costs}),
        costs_assumed=not costs,
        prices=tuple(_price(row) for row in rows_of(settings, "price")),
        fabrics=tuple(_fabric(row) for row in rows_of(settings, "fabric")),
        same_mill=tuple(_mill(row) for row in rows_of(settings, "same_mill")),
        own_kinds=own,
        own_columns=own_columns(settings, taken=[each.name for each in own]),
        shifts=shifts_from(settings),
        asked=asked_columns(settings),
        allowances=allowances_from(settings),
        backup=_backup(settings),
    )


def _backup(settings: Mapping[str, Any]) -> DailyBackups | None:
    if "backup" not in settings:
        return None
    table = table_of(settings, "backup", {item.name for item in fields(DailyBackups)})
    keep = table.get("keep", BACKUPS_KEPT)
    if isinstance(keep, bool) or not isinstance(keep, int) or keep < 1:
        raise SettingsError(
            f"{PLACE}: [backup] keep is {keep!r}; it must be a whole number from 1 up.",
            "write keep = 14, to keep the backups of the last 14 days",
        )
    return DailyBackups(folder=text_of(table, "backup", "folder"), keep=keep)


def _zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError) as cause:
        raise SettingsError(
            f"{PLACE}: [shop] timezone {name!r} is not a known time zone.",
            'use a name of the IANA list, such as "Europe/Lisbon"',
        ) from cause
    return name


def _price(row: Mapping[str, Any]) -> Price:
    no_strangers(row, "price", {"supplier", "backing", "gsm", "per_m2"})
    return Price(
        supplier=text_of(row, "price", "supplier"),
        backing=choice_of(text_of(row, "price", "backing"), "price", "backing", BACKINGS),
        per_m2=amount_of(row, "price", "per_m2"),
        gsm=optional_amount(row, "price", "gsm"),
    )


def _fabric(row: Mapping[str, Any]) -> FabricFacts:
    no_strangers(row, "fabric", {"name", "stretch", "pile_mm", "sheerness", "gsm"})
    return FabricFacts(
        name=text_of(row, "fabric", "name"),
        stretch=optional_choice(row, "fabric", "stretch", _ATTRIBUTES["fabric_stretch"]),
        pile_mm=optional_amount(row, "fabric", "pile_mm"),
        sheerness=optional_choice(row, "fabric", "sheerness", _ATTRIBUTES["fabric_sheerness"]),
        gsm=optional_amount(row, "fabric", "gsm"),
    )


def _mill(row: Mapping[str, Any]) -> SameMill:
    no_strangers(row, "same_mill", {"suppliers", "backing"})
    suppliers = row.get("suppliers")
    if (
        not isinstance(suppliers, list)
        or len(suppliers) < 2
        or not all(isinstance(name, str) and name.strip() for name in suppliers)
    ):
        raise SettingsError(
            f"{PLACE}: [[same_mill]] needs suppliers as a list of two or more names.",
            'write suppliers = ["A", "B"]',
        )
    return SameMill(
        tuple(name.strip() for name in suppliers),
        optional_choice(row, "same_mill", "backing", BACKINGS),
    )


def _own_kinds(rows: Sequence[Mapping[str, Any]]) -> tuple[DefectKind, ...]:
    taken = {kind.name for kind in DEFECT_KINDS} | {"any"}
    kinds: list[DefectKind] = []
    for row in rows:
        no_strangers(row, "defect_kind", {"name", "label", "measure", "definition"})
        name = text_of(row, "defect_kind", "name")
        if not OWN_NAME.fullmatch(name) or name in taken:
            raise SettingsError(
                f"{PLACE}: [[defect_kind]] name {name!r} is taken or not plain.",
                "use a new name of small letters, digits and underscores, such as loose_ends",
            )
        measure = text_of(row, "defect_kind", "measure", "pieces")
        if measure not in {"pieces", "events"}:
            raise SettingsError(
                f"{PLACE}: defect kind {name}: measure is {measure!r}.",
                'use "pieces" (pieces that show it) or "events" (times it happened)',
            )
        taken.add(name)
        kinds.append(_own_kind(row, name, measure))
    return tuple(kinds)


def _own_kind(row: Mapping[str, Any], name: str, measure: str) -> DefectKind:
    label = text_of(row, "defect_kind", "label", name.replace("_", " ").capitalize())
    pieces = measure == "pieces"
    return DefectKind(
        name=name,
        label=label,
        measure="pieces" if pieces else "events",
        definition=text_of(row, "defect_kind", "definition", f"{label}, as the shop defines it."),
        usual_levers=(),
        remedies=(),
        source="the shop's own",
        own=True,
    )
