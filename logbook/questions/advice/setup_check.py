"""Which rules of thumb a setup goes against, before a stitch is sewn."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logbook.questions.advice.job import attributes_of
from logbook.runs.factors import FACTORS
from logbook.shop import Shop
from logbook.vocabulary.bands import band_of
from logbook.vocabulary.rules import RULES_OF_THUMB, RuleOfThumb

_ORDER = {"strong": 0, "usual": 1, "contested": 2}


def rules_broken(setup: Mapping[str, Any], *, shop: Shop) -> tuple[RuleOfThumb, ...]:
    """Rules of thumb that warn of defects in a setup.

    Parameters
    ----------
    setup
        Columns of the run sheet to values; what is absent is not recorded, and no rule that
        asks for it speaks.
    shop
        Whose facts on fabrics come before the usual ones.

    Returns
    -------
    tuple of RuleOfThumb
        Those agreed on most first. Rules that only recommend something are no part of it.
    """
    words = words_of(setup, shop=shop)
    broken = (rule for rule in RULES_OF_THUMB if rule.expects and rule.speaks_to(words))
    return tuple(sorted(broken, key=lambda rule: _ORDER[rule.status]))


def words_of(setup: Mapping[str, Any], *, shop: Shop) -> dict[str, str]:
    """Say a setup as rules of thumb name it: words, bands, and attributes of the fabric.

    What the run itself says of its cloth comes before what is usual of such cloth.
    """
    told = {name: value for name, value in setup.items() if value is not None}
    words = {name: _word(value) for name, value in told.items()}
    for factor in FACTORS:
        value = None if factor.cut_from is None else told.get(factor.cut_from)
        band = None if value is None else band_of(float(value), factor.bands)
        if band is not None:
            words[factor.column] = band.name
    fabric = attributes_of(str(told["fabric"]), shop) if "fabric" in told else {}
    return words | fabric | ({"fabric_sheer": words["fabric_sheer"]} if _told_sheer(told) else {})


def _told_sheer(told: Mapping[str, Any]) -> bool:
    return isinstance(told.get("fabric_sheer"), bool)


def _word(value: Any) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)
