"""Rules of thumb of the trade, each with how far it is agreed and whether a setup can be checked.

Opinion of practitioners, not measurement: advice shows them beside the shop's own record, and
where the two part the record counts for more.
"""

from __future__ import annotations

from logbook.vocabulary.rules.backing import BACKING_RULES
from logbook.vocabulary.rules.needle_and_design import NEEDLE_AND_DESIGN_RULES
from logbook.vocabulary.rules.rule import RuleOfThumb
from logbook.vocabulary.rules.topping_and_hooping import TOPPING_AND_HOOPING_RULES

__all__ = ["RULES_OF_THUMB", "RuleOfThumb"]

RULES_OF_THUMB: tuple[RuleOfThumb, ...] = (
    *BACKING_RULES,
    *TOPPING_AND_HOOPING_RULES,
    *NEEDLE_AND_DESIGN_RULES,
)
