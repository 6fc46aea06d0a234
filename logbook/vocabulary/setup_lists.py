"""Short closed lists: topping, hooping, when pieces are judged, days of the week."""

from __future__ import annotations

from logbook.vocabulary.choices import Choice, ChoiceList

TOPPINGS = ChoiceList(
    column="topping",
    label="Topping",
    choices=(
        Choice(
            "none",
            "No topping",
            "sewn straight on the face of the goods",
            "no, nil, without, without topping",
        ),
        Choice(
            "water_soluble_film",
            "Water-soluble film",
            "torn off, and the rest dissolved in water; the usual film",
            # Bare "film" on a ticket is the soluble one; the other kind is always spelled out.
            "film, film topping, soluble, soluble film, water soluble, water soluble topping, "
            "watersoluble film, wash away, wash away film, wash away topping, washaway, washaway "
            "film, wss, wss film, wsf",
        ),
        Choice(
            "heat_away_film",
            "Heat-away film",
            "for goods that cannot be wetted; cleared with a dry iron at its maker's temperature",
            "heat away, heataway, heataway film, heat away topping, heat soluble film, heat "
            "dissolving film, iron away film",
        ),
    ),
)

HOOPINGS = ChoiceList(
    column="hooping",
    label="Hooping",
    choices=(
        Choice(
            "hooped",
            "Hooped",
            "goods and backing together between the rings",
            "hoop, in hoop, in the hoop, ring hoop, round hoop, tubular hoop, hooped with "
            "backing, framed",
        ),
        Choice(
            "floated",
            "Floated",
            "backing hooped, goods laid over it and basted or pinned",
            "float, floating, floated on backing",
        ),
        Choice(
            "adhesive",
            "Stuck on adhesive",
            "goods held on adhesive backing or spray",
            "stuck, sticky, glued, spray, sprayed, spray adhesive, floated on adhesive, adhesive "
            "backing, peel and stick",
        ),
        Choice(
            "clamped",
            "Clamped",
            "clamp, magnetic frame or cap frame",
            "clamp, clamp frame, clamping frame, magnet, magnetic, magnetic frame, magnetic hoop, "
            "cap frame, cap driver",
        ),
    ),
)

SEEN_AT = ChoiceList(
    column="seen_at",
    label="Judged when",
    choices=(
        Choice(
            "in_hoop",
            "In the hoop",
            "before the piece is taken off",
            "hooped, in frame, on machine, on the machine, at the machine",
        ),
        Choice(
            "off_hoop",
            "Off the hoop",
            "relaxed and trimmed, before any steam",
            "unhooped, out of hoop, out of the hoop, trimmed, trim table, at trimming",
        ),
        Choice(
            "pressed",
            "After pressing",
            "steamed or pressed",
            "press, steamed, ironed, after steaming, after steam, after press",
        ),
        Choice(
            "washed",
            "After a wash",
            "laundered and dried; say how in the notes",
            "wash, after wash, after washing, post wash, laundered, after laundering",
        ),
        Choice(
            "returned",
            "Came back",
            "after delivery: what the customer sent back",
            "return, returns, customer return, complaint, sent back",
        ),
    ),
)
"""Stages at which pieces are judged: some defects only come out later."""

WEEKDAYS = ChoiceList(
    column="weekday",
    label="Day of the week",
    choices=tuple(
        Choice(name.casefold(), name)
        for name in (
            *("Monday", "Tuesday", "Wednesday", "Thursday"),
            *("Friday", "Saturday", "Sunday"),
        )
    ),
)
"""The first is day 1 of ISO 8601."""
