"""Stages at which pieces are judged: some defects only come out later."""

from __future__ import annotations

from logbook.vocabulary.choices import Choice, ChoiceList

SEEN_AT = ChoiceList(
    column="seen_at",
    label="Judged when",
    choices=(
        Choice("in_hoop", "In the hoop", "before the piece is taken off"),
        Choice("off_hoop", "Off the hoop", "relaxed and trimmed, before any steam"),
        Choice("pressed", "After pressing", "steamed or pressed"),
        Choice("washed", "After a wash", "laundered and dried; say how in the notes"),
    ),
    synonyms={
        "hooped": "in_hoop",
        "in frame": "in_hoop",
        "on machine": "in_hoop",
        "on the machine": "in_hoop",
        "at the machine": "in_hoop",
        "unhooped": "off_hoop",
        "out of hoop": "off_hoop",
        "out of the hoop": "off_hoop",
        "trimmed": "off_hoop",
        "trim table": "off_hoop",
        "at trimming": "off_hoop",
        "press": "pressed",
        "steamed": "pressed",
        "ironed": "pressed",
        "after steaming": "pressed",
        "after steam": "pressed",
        "after press": "pressed",
        "wash": "washed",
        "after wash": "washed",
        "after washing": "washed",
        "post wash": "washed",
        "laundered": "washed",
        "after laundering": "washed",
    },
)
