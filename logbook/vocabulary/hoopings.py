"""Hoopings: how the goods are held while they are sewn."""

from __future__ import annotations

from logbook.vocabulary.choices import Choice, ChoiceList

HOOPINGS = ChoiceList(
    column="hooping",
    label="Hooping",
    choices=(
        Choice("hooped", "Hooped", "goods and backing together between the rings"),
        Choice("floated", "Floated", "backing hooped, goods laid over it and basted or pinned"),
        Choice("adhesive", "Stuck on adhesive", "goods held on adhesive backing or spray"),
        Choice("clamped", "Clamped", "clamp, magnetic frame or cap frame"),
    ),
    synonyms={
        "hoop": "hooped",
        "in hoop": "hooped",
        "in the hoop": "hooped",
        "ring hoop": "hooped",
        "round hoop": "hooped",
        "tubular hoop": "hooped",
        "hooped with backing": "hooped",
        "framed": "hooped",
        "float": "floated",
        "floating": "floated",
        "floated on backing": "floated",
        "stuck": "adhesive",
        "sticky": "adhesive",
        "glued": "adhesive",
        "spray": "adhesive",
        "sprayed": "adhesive",
        "spray adhesive": "adhesive",
        "floated on adhesive": "adhesive",
        "adhesive backing": "adhesive",
        "peel and stick": "adhesive",
        "clamp": "clamped",
        "clamp frame": "clamped",
        "clamping frame": "clamped",
        "magnet": "clamped",
        "magnetic": "clamped",
        "magnetic frame": "clamped",
        "magnetic hoop": "clamped",
        "cap frame": "clamped",
        "cap driver": "clamped",
    },
)
