"""Words of shops' own sheets, language by language: another one is a file and a line here."""

from __future__ import annotations

from collections.abc import Mapping

from logbook.vocabulary.sheet_words.english import ENGLISH
from logbook.vocabulary.sheet_words.german import GERMAN
from logbook.vocabulary.sheet_words.language import Language, spellings

__all__ = ["LANGUAGES", "SIZES", "SPECIAL", "Language", "spellings"]

LANGUAGES: tuple[Language, ...] = (ENGLISH, GERMAN)

SPECIAL: Mapping[str, str] = {
    "backing_oz_yd2": "backing weight in oz/yd²",
    "time_of_day": "time of day of the finish",
    "stitches": "stitches, of one piece or of all",
    "pieces_good": "pieces without a defect",
    "pieces_of_a_size": "pieces of one size, to be added up",
    "reasons": "what was found, in words",
}
"""What a heading can mean besides the columns of the run sheet."""

SIZES = frozenset(
    (
        "xxs",
        "xs",
        "s",
        "m",
        "l",
        "xl",
        "xxl",
        "2xl",
        "xxxl",
        "3xl",
        "4xl",
        "5xl",
        "6xl",
        "os",
        "yxs",
        "ys",
        "ym",
        "yl",
        "yxl",
        "youth",
        "onesize",
        "osfa",
    )
)
"""Sizes of garments that head columns of quantities."""
