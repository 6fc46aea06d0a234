"""How prices, lots and heat settings are said."""

from __future__ import annotations

from dashboards.material_pages.shelves import Line
from dashboards.shared import day_words
from logbook.book.materials_in_use import ProductOnShelf
from logbook.runs.materials import LOT_UNITS, HeatSetting, LotReceived, PriceStep, Product
from logbook.vocabulary.backings import BACKING_SHADES
from logbook.vocabulary.cautions import CAUTIONS
from logbook.wording import money, number

NO_HEAT = "No heat setting recorded: follow the maker's leaflet."
HEATED = frozenset({"fusible_sheer_mesh", "heat_away_film"})
STUCK = "adhesive"
_SAYS = {caution.name: caution.says for caution in CAUTIONS}


def short_name(product: Product) -> str:
    """Call a product by supplier, weight and shade, where its type stands above."""
    parts = [product.supplier]
    if product.gsm is not None:
        parts.append(f"{product.gsm:g} g/m²")
    if product.shade is not None:
        parts.append(BACKING_SHADES.label_of(product.shade).lower())
    return ", ".join(parts)


def price_today(each: ProductOnShelf, currency: str) -> Line:
    """Say the price that counts today, and where it stands."""
    if each.price is not None:
        return Line(f"{money(each.price.per_m2, currency)} per m²", "lead")
    if each.in_settings is not None:
        return Line(f"{money(each.in_settings.per_m2, currency)} per m²", "lead")
    return Line("No price yet", "lead watch")


def price_words(step: PriceStep, currency: str) -> str:
    """Say a price as it was told, per square metre too where it was for a roll."""
    said = f"{money(step.per_m2, currency)} per m² from {day_words(step.since)}"
    if step.roll is None:
        return said
    roll = f"{step.roll.width_cm:g} cm by {step.roll.length_m:g} m"
    return f"{said} ({money(step.amount, currency)} for a roll of {roll})"


def quantity_words(lot: LotReceived) -> str:
    """Say how much came of a lot."""
    if lot.quantity is None:
        return "not recorded"
    unit = LOT_UNITS[lot.unit]
    return f"{number(lot.quantity)} {unit.removesuffix('s') if lot.quantity == 1 else unit}"


def heat_words(heat: HeatSetting | None) -> str:
    """Say a heat setting as the maker gives it; none of ours where there is none."""
    if heat is None:
        return NO_HEAT
    parts = [
        f"{heat.celsius:g} °C" if heat.celsius is not None else "temperature not recorded",
        f"{heat.seconds:g} seconds" if heat.seconds is not None else "time not recorded",
        f"pressure {heat.pressure}" if heat.pressure is not None else "pressure not recorded",
    ]
    return f"As its maker gives it: {', '.join(parts)}."


def cautions_of(product: Product) -> tuple[str, ...]:
    """What to mind in using it, before anything else is said of its use."""
    heated = product.type in HEATED or product.heat is not None
    said = [_SAYS["heat"]] if heated else []
    if product.type == STUCK:
        said.append(f"Where spray adhesive is used instead or as well: {_SAYS['spray_adhesive']}")
    return tuple(said)
