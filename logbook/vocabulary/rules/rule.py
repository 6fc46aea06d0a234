"""What is said of one rule of thumb."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True, slots=True)
class RuleOfThumb:
    """One rule of the trade, to be weighed against the shop's own record and never above it.

    Parameters
    ----------
    name
        A short slug.
    if_text, then_text, why
        The rule in plain words.
    status
        ``strong`` where sources agree, ``usual`` where most do, ``contested`` where they
        contradict each other.
    source
        The kind of publication that it rests on.
    conditions
        Where the rule can be checked from a setup: factor column → the values for which it
        speaks. Keys are run sheet columns, band columns, or the fabric attributes
        ``fabric_stretch``, ``fabric_pile`` and ``fabric_sheer`` (``true`` or ``false``). They
        are the part of ``if_text`` that a setup can answer; the reader judges the rest (whether
        there is lettering, say). Empty where a setup answers none of it.
    expects
        Defect kinds that the rule warns of in that setup; empty where it only recommends.
    """

    name: str
    if_text: str
    then_text: str
    why: str
    status: Literal["strong", "usual", "contested"]
    source: str
    conditions: Mapping[str, tuple[str, ...]] = field(default_factory=dict, hash=False)
    expects: tuple[str, ...] = ()

    def speaks_to(self, setup: Mapping[str, str]) -> bool:
        """Whether every condition holds in a setup; False where the rule cannot be checked.

        Parameters
        ----------
        setup
            Column → value as text; a column that is absent is not recorded, and never matches.
        """
        return bool(self.conditions) and all(
            setup.get(column) in values for column, values in self.conditions.items()
        )
