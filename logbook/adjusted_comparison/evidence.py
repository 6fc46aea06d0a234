"""How far a suggested change can be trusted: what it is expected to save, and on what evidence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

Evidence: TypeAlias = Literal["strong", "fair", "thin"]

STRONG, FAIR = 0.915, 0.7
"""Chances to be better from which evidence is strong or fair. The first is as low as lets 95 in 100
strong ones come true and keeps them from 94 in 100 jobs of a shop in which nothing matters."""
STRONG_BESIDES = 0.95
"""From which a suggestion beside the best one is strong: of many looked at, some are lucky."""
LEAST_TOLD = 0.6
"""Standard errors that must be left of a saving, luck taken off, for strong evidence."""


@dataclass(frozen=True, slots=True)
class ExpectedSaving:
    """What a setup is expected to save against the one used now.

    Attributes
    ----------
    expected, error, interval
        Best guess, its standard error and interval; below zero: it would cost.
    told
        The saving to tell of: what comes true, on average, of suggestions picked as best.
    chance_better
        That it is better than now at all.
    """

    expected: float
    error: float
    interval: tuple[float, float]
    told: float
    chance_better: float

    @property
    def evidence(self) -> Evidence:
        """By itself: ``strong`` from a chance of 0.915, ``fair`` from 0.7.

        ``thin`` where luck may be all of the saving told, not strong where it may be most of it.
        """
        if self.told <= 0 or self.chance_better < FAIR:
            return "thin"
        sure = self.chance_better >= STRONG and self.told >= LEAST_TOLD * self.error
        return "strong" if sure else "fair"


def evidence_together(
    savings: Sequence[ExpectedSaving], evidence: Sequence[Evidence]
) -> list[Evidence]:
    """Evidence of suggestions for one job, the best first.

    One is strong by itself; those beside it only from a chance of ``STRONG_BESIDES``.
    """
    best = next((at for at, each in enumerate(evidence) if each == "strong"), -1)
    return [
        "fair" if each == "strong" and at != best and saved.chance_better < STRONG_BESIDES else each
        for at, (saved, each) in enumerate(zip(savings, evidence, strict=True))
    ]
