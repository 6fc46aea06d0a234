"""The shop's fabrics, and the suppliers from whom it buys."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from logbook.runs.materials import checking
from logbook.runs.materials.checking import refuse
from logbook.shop import FabricFacts, SameMill
from logbook.vocabulary.backings import BACKINGS
from logbook.vocabulary.choices import normalise
from logbook.vocabulary.fabrics import FABRIC_ATTRIBUTES

_ATTRIBUTES = {attribute.column: attribute for attribute in FABRIC_ATTRIBUTES}
STRETCHES = _ATTRIBUTES["fabric_stretch"]
SHEERNESSES = _ATTRIBUTES["fabric_sheerness"]
LONGEST_PILE_MM = 100.0


@dataclass(frozen=True, slots=True)
class ShelfFabric:
    """A fabric that the shop sews on; what is None is not known."""

    name: str
    stretch: str | None = None
    pile_mm: float | None = None
    sheerness: str | None = None
    gsm: float | None = None
    note: str | None = None

    @property
    def facts(self) -> FabricFacts:
        """What rules of thumb go by."""
        return FabricFacts(self.name, self.stretch, self.pile_mm, self.sheerness, self.gsm)

    def plain(self) -> dict[str, Any]:
        """Plain values, as a document keeps them; what is not known is left out."""
        values = {name: getattr(self, name) for name in self.__dataclass_fields__}
        return {name: value for name, value in values.items() if value is not None}


@dataclass(frozen=True, slots=True)
class SharedMill:
    """Another supplier believed to sell the same mill's backing; of every type where none is."""

    supplier: str
    backing: str | None = None


@dataclass(frozen=True, slots=True)
class Supplier:
    """One supplier: how to reach them, and whose mill they share."""

    name: str
    contact: str | None = None
    same_mill: tuple[SharedMill, ...] = ()
    note: str | None = None

    @property
    def mills(self) -> tuple[SameMill, ...]:
        """The same beliefs as the shop's settings hold them."""
        return tuple(SameMill((self.name, each.supplier), each.backing) for each in self.same_mill)

    def plain(self) -> dict[str, Any]:
        """Plain values, as a document keeps them; what is not known is left out."""
        mills = [
            {"supplier": each.supplier}
            | ({} if each.backing is None else {"backing": each.backing})
            for each in self.same_mill
        ]
        values = {"contact": self.contact, "same_mill": mills, "note": self.note}
        return {"name": self.name} | {name: value for name, value in values.items() if value}


def fabric_from(values: Mapping[str, Any]) -> ShelfFabric:
    """Read a fabric from plain values.

    Raises
    ------
    RecordError
        A value cannot be; ``reasons`` maps its name to the sentence.
    """
    values = checking.table(values, "fabric", tuple(ShelfFabric.__dataclass_fields__))
    return ShelfFabric(
        name=checking.name(values, "name", "the fabric's name"),
        stretch=checking.choice(values, "stretch", "the stretch", STRETCHES),
        pile_mm=checking.number(values, "pile_mm", "the pile in mm", most=LONGEST_PILE_MM),
        sheerness=checking.choice(values, "sheerness", "the sheerness", SHEERNESSES),
        gsm=checking.number(values, "gsm", "the weight in g/m²", above_zero=True),
        note=checking.text(values, "note", "the note"),
    )


def supplier_from(values: Mapping[str, Any]) -> Supplier:
    """Read a supplier from plain values.

    Raises
    ------
    RecordError
        A value cannot be; ``reasons`` maps its name to the sentence.
    """
    values = checking.table(values, "supplier", tuple(Supplier.__dataclass_fields__))
    name = checking.name(values, "name", "the supplier's name")
    mills = tuple(map(_mill, checking.rows(values, "same_mill")))
    if any(normalise(each.supplier) == normalise(name) for each in mills):
        refuse("same_mill", f"{name} cannot share a mill with itself")
    return Supplier(
        name=name,
        contact=checking.text(values, "contact", "how to reach them"),
        same_mill=tuple(dict.fromkeys(mills)),
        note=checking.text(values, "note", "the note"),
    )


def _mill(entry: object) -> SharedMill:
    values = checking.table(entry, "shared mill", ("supplier", "backing"))
    backing = checking.choice(values, "backing", "the backing", BACKINGS)
    return SharedMill(checking.name(values, "supplier", "the other supplier"), backing)
