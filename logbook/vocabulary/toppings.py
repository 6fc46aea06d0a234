"""Toppings: what is laid over the cloth before sewing."""

from __future__ import annotations

from logbook.vocabulary.choices import Choice, ChoiceList

TOPPINGS = ChoiceList(
    column="topping",
    label="Topping",
    choices=(
        Choice("none", "No topping", "sewn straight on the face of the goods"),
        Choice(
            "water_soluble_film",
            "Water-soluble film",
            "torn off, and the rest dissolved in water; the usual film",
        ),
        Choice(
            "heat_away_film",
            "Heat-away film",
            "for goods that cannot be wetted; cleared with a dry iron at its maker's temperature",
        ),
    ),
    synonyms={
        "no": "none",
        "nil": "none",
        "without": "none",
        "without topping": "none",
        # Bare "film" on a ticket is the soluble one; the other kind is always spelled out.
        "film": "water_soluble_film",
        "film topping": "water_soluble_film",
        "soluble": "water_soluble_film",
        "soluble film": "water_soluble_film",
        "water soluble": "water_soluble_film",
        "water soluble topping": "water_soluble_film",
        "watersoluble film": "water_soluble_film",
        "wash away": "water_soluble_film",
        "wash away film": "water_soluble_film",
        "wash away topping": "water_soluble_film",
        "washaway": "water_soluble_film",
        "washaway film": "water_soluble_film",
        "wss": "water_soluble_film",
        "wss film": "water_soluble_film",
        "wsf": "water_soluble_film",
        "heat away": "heat_away_film",
        "heataway": "heat_away_film",
        "heataway film": "heat_away_film",
        "heat away topping": "heat_away_film",
        "heat soluble film": "heat_away_film",
        "heat dissolving film": "heat_away_film",
        "iron away film": "heat_away_film",
    },
)
