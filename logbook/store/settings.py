"""Reading and starting ``shop.toml``, the book's settings file."""

from __future__ import annotations

import tomllib
from pathlib import Path

from logbook.cells import GROUPINGS
from logbook.errors import SettingsError
from logbook.runs.columns import COLUMNS, MADE_COLUMNS, WEIGHT_IN_OUNCES, columns_with
from logbook.shop import Shop, shop_from
from logbook.store.migrations import RUN_KEEPING

FILE_NAME = "shop.toml"

RESERVED = frozenset(
    (
        *(column.name for column in (*COLUMNS, *MADE_COLUMNS, WEIGHT_IN_OUNCES)),
        *GROUPINGS,
        *(definition.split()[0] for definition in RUN_KEEPING),
        *("row", "column", "reason", "position", "order", "fate"),
    )
)
"""Names with a meaning of their own in a book or in a rejects file."""

STARTING_SETTINGS = """\
# Settings of this book. Save the file and the next command uses it.

[shop]
name = "Our shop"
currency = "EUR"
timezone = "UTC"          # a name of the IANA list, such as "Europe/Lisbon"

# What things cost, in the shop's currency. Take away the # and put your own figures:
# until then money is worked out with these starting values, and says so.
# [costs]
# piece_value = 14.50               # garment and the work in it, lost when a piece is spoiled
# labour_minute = 0.45
# machine_hour = 6.00
# rework_minutes_per_piece = 8      # for reworked pieces without their minutes
# minutes_per_thread_break = 1
# minutes_per_needle_break = 6
# minutes_per_bird_nest = 4
# sheet_area_m2 = 0.04              # backing for one piece, one layer
# cutting_waste = 0.10

# What suppliers ask, one entry a backing:
# [[price]]
# supplier = "…"
# backing = "cut_away"              # as in the run sheet
# gsm = 60
# per_m2 = 1.10

# What you know of your fabrics:
# [[fabric]]
# name = "pique polo"
# stretch = "low"                   # none, low, mid, high
# pile_mm = 0
# sheerness = "opaque"              # opaque, semi, sheer
# gsm = 200

# Suppliers that you believe sell the same mill's backing:
# [[same_mill]]
# suppliers = ["…", "…"]
# backing = "tear_away"

# Your shifts; what a run does not say of its shift is made from its finish:
# [[shift]]
# name = "early"
# from = "06:00"
# to = "14:00"

# Columns of your own, a line each: a text, or choices:
# [columns]
# wash_batch = "Wash batch"
# rack = { label = "Rack", choices = ["A", "B"] }

# What the form asks for before any run has it; later it asks by itself:
# [form]
# ask = ["customer", "fabric_lot", "needle_changed", "shift"]

# A backup a day while the pages are served; best on another disk. A folder that does not begin
# with / or a drive lies within the book's own:
# [backup]
# folder = "backups"
# keep = 14                         # the newest ones; older ones are taken away

# A defect kind of your own:
# [[defect_kind]]
# name = "loose_ends"
# label = "Loose ends"
# measure = "pieces"                # pieces that show it, or "events"
# definition = "A thread end longer than 5 mm on the face."
"""


def read_settings(path: Path) -> Shop:
    """The shop of a settings file; a missing file gives the starting values.

    Raises
    ------
    SettingsError
        The file cannot be read or does not make sense; the message says where.
    """
    if not path.exists():
        return Shop()
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as cause:
        raise _unreadable(str(path), cause) from cause
    except OSError as cause:
        raise SettingsError(f"{path} cannot be read: {cause.strerror}.") from cause
    return parse_settings(text, str(path))


def parse_settings(text: str, named: str) -> Shop:
    """The shop of a settings text.

    Parameters
    ----------
    text
        What the file holds.
    named
        What messages call it.

    Raises
    ------
    SettingsError
        It is not TOML, or does not make sense; the message says where.
    """
    try:
        settings = tomllib.loads(text)
    except tomllib.TOMLDecodeError as cause:
        raise _unreadable(named, cause) from cause
    shop = shop_from(settings)
    for own in shop.own:
        if own.name in RESERVED:
            table = "[columns]" if own in shop.own_columns else "[[defect_kind]]"
            raise SettingsError(
                f"{named}: {table} name {own.name!r} is taken by a column of the book.",
                f"use another name, such as own_{own.name}",
            )
    _refuse_unknown(shop, named)
    return shop


def _refuse_unknown(shop: Shop, named: str) -> None:
    """Refuse columns that the form is to ask for and that it cannot."""
    fit = [each.name for each in columns_with(shop.own) if each.form]
    for name in shop.asked:
        if name not in fit:
            raise SettingsError(
                f"{named}: [form] ask has {name!r}, which is no column that the form can ask for.",
                f"use some of {', '.join(each.name for each in COLUMNS if each.where_used)}",
            )


def _unreadable(named: str, cause: Exception) -> SettingsError:
    return SettingsError(
        f"{named} cannot be read as TOML: {cause}.",
        "mend the line, or move the file away to go on with the starting values",
    )
