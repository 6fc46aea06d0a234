"""The shop's own lists as it keeps them in ``shop.toml``: costs, prices, fabrics, shared mills."""

from sample_logs.shop import FABRICS, SHIFTS, SHOP_NAME
from sample_logs.supplies import OFFERS

__all__ = ["shop_file"]

COSTS: dict[str, float] = {
    "piece_value": 12.0,
    "labour_minute": 0.45,
    "machine_hour": 9.0,
    "minutes_per_thread_break": 1.0,
    "minutes_per_needle_break": 6.0,
    "minutes_per_bird_nest": 8.0,
    "sheet_area_m2": 0.04,
}


def shop_file() -> str:
    """Return the text of the shop's ``shop.toml``. All prices are invented."""
    head = (
        "# An invented contract embroidery shop. Every price and cost here is invented.\n\n"
        f'[shop]\nname = "{SHOP_NAME}"\ncurrency = "EUR"\ntimezone = "Europe/Paris"\n'
    )
    costs = "[costs]\n" + "".join(f"{name} = {value}\n" for name, value in COSTS.items())
    prices = (
        f'[[price]]\nsupplier = "{offer.supplier}"\nbacking = "{offer.backing}"\n'
        f"gsm = {offer.gsm}\nper_m2 = {offer.per_m2:.2f}\n"
        for offer in OFFERS
    )
    fabrics = (
        f'[[fabric]]\nname = "{fabric.name}"\nstretch = "{fabric.stretch}"\n'
        f'pile_mm = {fabric.pile_mm}\nsheerness = "{fabric.sheerness}"\ngsm = {fabric.gsm}\n'
        for fabric in FABRICS
    )
    mills = '[[same_mill]]\nsuppliers = ["Birch", "Dogwood"]\nbacking = "tear_away"\n'
    shifts = (
        f'[[shift]]\nname = "{shift.name}"\nfrom = "{shift.begins:%H:%M}"\n'
        f'to = "{shift.ends:%H:%M}"\n'
        for shift in SHIFTS
    )
    return "\n".join([head, costs, *prices, *fabrics, mills, *shifts])
