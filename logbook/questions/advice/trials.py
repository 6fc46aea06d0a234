"""A fair trial of a suggested change, in words for the people at the machine."""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from typing import TypeAlias

from typing_extensions import TypedDict

from logbook.errors import AnalysisError
from logbook.kernels.trials import Plan, plan
from logbook.runs.factors import factor_label
from logbook.runs.trials import CHANGED, LARGEST_SEED, Arm, drawn_order
from logbook.wording import number, percent, points, so_many

Change: TypeAlias = tuple[str, str, str]
"""A factor, what it is now, what it is changed to: as people read them."""

USUAL_PIECES_PER_ARM = 50
LONG = 40
"""More pairs than this make a long trial."""
OF_A_LOT = frozenset(
    factor_label(column)
    for column in ("backing", "weight_band", "backing_shade", "backing_supplier")
)
"""Whoever changes one of these sews with other lots of backing."""
MOST_PIECES = 20_000
"""A trial of more pieces than this costs more than it can tell."""
MOST_LOTS = 12
"""More lots of a backing than this nobody waits for."""


class TrialJson(TypedDict):
    """A trial to be sewn."""

    arms: list[str]
    pieces_per_arm: int
    pairs: int
    pieces: int
    too_long: bool
    power: float
    alpha: float
    smallest_difference: float
    rate_now: float
    lots_each: int
    order: list[str]
    instructions: list[str]
    finding: str
    notes: list[str]


@dataclass(frozen=True, slots=True)
class TrialPlan:
    """A trial to be sewn.

    Attributes
    ----------
    arms
        The setup as now and the changed one, in words.
    pieces_per_arm
        Pieces of each arm in each pair.
    pairs
        Pairs to be sewn.
    power, alpha
        Chance of finding the smallest difference where it is there, and of seeing one where there
        is none.
    smallest_difference, rate_now
        Fall in the share of defective pieces that the trial is to find, and the share now.
    lots_each
        Lots of backing to be sewn with in each arm.
    instructions
        What to do, one sentence or two each, in order.
    notes
        What the trial cannot say.
    order
        The arm that each pair begins with, drawn by chance; none for a trial that is too long.
    """

    arms: tuple[str, str]
    pieces_per_arm: int
    pairs: int
    power: float
    alpha: float
    smallest_difference: float
    rate_now: float
    lots_each: int
    instructions: tuple[str, ...]
    notes: tuple[str, ...] = ()
    order: tuple[Arm, ...] = ()

    @property
    def pieces(self) -> int:
        """Pieces of the whole trial, both arms."""
        return 2 * self.pairs * self.pieces_per_arm

    @property
    def too_long(self) -> bool:
        """Whether it is not worth sewing."""
        return self.pieces > MOST_PIECES

    def finding(self) -> str:
        """Say in a sentence what it takes and what it can find."""
        if self.too_long:
            return (
                f"A trial would be too long to be worth it: to show a fall of "
                f"{points(self.smallest_difference)} from {percent(self.rate_now)} takes more than "
                f"{number(MOST_PIECES)} pieces. Decide on the record, or leave the setup as it is."
            )
        return (
            f"{so_many(self.pairs, 'pair')} of {so_many(self.pieces_per_arm, 'piece')} as now and "
            f"{number(self.pieces_per_arm)} changed ({number(self.pieces)} in all) show a fall "
            f"of {points(self.smallest_difference)} from {percent(self.rate_now)}, if it is "
            f"there, {percent(self.power, 0)} of the time."
        )

    def order_words(self) -> str:
        """Say which pairs begin with the changed setup; none for a trial that is too long."""
        if not self.order:
            return ""
        changed_first = [
            number(pair) for pair, arm in enumerate(self.order, start=1) if arm == CHANGED
        ]
        if not changed_first:
            return "Drawn by chance: every pair begins as now."
        which = "pair" if len(changed_first) == 1 else "pairs"
        begin = "begins" if len(changed_first) == 1 else "begin"
        return (
            f"Drawn by chance: {which} {', '.join(changed_first)} {begin} with the "
            "changed setup, every other pair begins as now."
        )

    def as_json(self) -> TrialJson:
        """Answer the fields that scripts rely on."""
        return {
            "arms": list(self.arms),
            "pieces_per_arm": self.pieces_per_arm,
            "pairs": self.pairs,
            "pieces": self.pieces,
            "too_long": self.too_long,
            "power": self.power,
            "alpha": self.alpha,
            "smallest_difference": self.smallest_difference,
            "rate_now": self.rate_now,
            "lots_each": self.lots_each,
            "order": list(self.order),
            "instructions": list(self.instructions),
            "finding": self.finding(),
            "notes": list(self.notes),
        }


def trial_for(
    changes: tuple[Change, ...],
    *,
    rate_now: float,
    smallest_difference: float,
    overdispersion: float,
    lot_sd: float = 0.0,
    pieces_per_arm: int = USUAL_PIECES_PER_ARM,
    alpha: float = 0.05,
    power: float = 0.8,
) -> TrialPlan:
    """Plan a fair trial of a change.

    Parameters
    ----------
    changes
        Factor, from, to; in the words of the pages.
    rate_now
        Share of pieces defective with the setup as it is.
    smallest_difference
        Smallest fall of it worth finding, above 0 and no more than ``rate_now``.
    overdispersion, lot_sd
        How restless runs are and how far lots of backing differ, as the record shows them.
    pieces_per_arm
        Pieces of each arm in each pair.
    alpha, power
        As in :func:`logbook.kernels.trials.plan`.

    Returns
    -------
    TrialPlan
        Where the change brings other lots of backing with it, the plan has as many lots of each
        as let it speak of the backing itself. Where that would be more than ``MOST_LOTS``, it is
        a trial of the lots sewn with, and a note says so.

    Raises
    ------
    KernelError
        If the numbers cannot be.
    AnalysisError
        If no number of pairs finds so small a difference.
    """

    def planned(fall: float, lots: int, spread_of_lots: float) -> Plan:
        return plan(
            rate_now=rate_now,
            smallest_difference=fall,
            pieces_per_arm_and_pair=pieces_per_arm,
            overdispersion=overdispersion,
            alpha=alpha,
            power=power,
            lot_sd=spread_of_lots,
            lots_each=(lots, lots),
        )

    twice = 2 * smallest_difference
    brings_lots = any(factor in OF_A_LOT for factor, _, _ in changes)
    wanted = planned(smallest_difference, 1, lot_sd).lots_needed if brings_lots else 1
    lots = wanted if wanted <= MOST_LOTS else 1
    counted = lot_sd if brings_lots and wanted <= MOST_LOTS else 0.0
    found = planned(smallest_difference, lots, counted)
    if found.pairs is None:
        raise AnalysisError(
            f"No trial can find a fall of {points(smallest_difference)}.",
            "Look for a larger difference.",
        )
    return TrialPlan(
        arms=_arms(changes),
        pieces_per_arm=pieces_per_arm,
        pairs=found.pairs,
        power=found.power,
        alpha=alpha,
        smallest_difference=smallest_difference,
        rate_now=rate_now,
        lots_each=lots,
        instructions=(
            *_to_sew(pieces_per_arm, found.pairs, lots, brings_lots=brings_lots),
            *_to_end(found.pairs),
        ),
        notes=(
            *(_about_lots(lot_sd, wanted) if brings_lots and counted == 0 else ()),
            *_quicker(found, planned(twice, lots, counted) if twice <= rate_now else None),
        ),
        order=_order(changes, found.pairs, pieces_per_arm),
    )


def _order(changes: tuple[Change, ...], pairs: int, pieces: int) -> tuple[Arm, ...]:
    """Draw the order, the same whenever the same trial is looked at."""
    if 2 * pairs * pieces > MOST_PIECES:
        return ()
    seed = zlib.crc32(repr((changes, pairs)).encode()) % LARGEST_SEED
    return drawn_order(pairs, seed)


def _arms(changes: tuple[Change, ...]) -> tuple[str, str]:
    before = ", ".join(f"{factor}: {was}" for factor, was, _ in changes)
    after = ", ".join(f"{factor}: {becomes}" for factor, _, becomes in changes)
    return f"As now ({before})", f"Changed ({after})"


def _to_sew(pieces: int, pairs: int, lots: int, *, brings_lots: bool) -> tuple[str, ...]:
    kept = "machine, operator, design, thread and fabric"
    if not brings_lots:
        kept = "machine, operator, design, thread, fabric and lot of backing"
    said = [
        f"Sew in pairs on the same job: {so_many(pieces, 'piece')} as now and {number(pieces)} "
        f"changed make one pair. Sew {number(pairs)} pairs.",
        "Which half of a pair goes first is drawn by chance: keep to the order drawn for it.",
        f"Change nothing else. Keep the same {kept} for both halves of a pair.",
    ]
    if lots > 1:
        said.append(
            f"Use at least {lots} lots of each backing, about "
            f"{so_many(round(pairs / lots), 'pair')} to a lot. Write down every lot."
        )
    elif brings_lots:
        said.append("Use as many lots of each backing as you have, in turn. Write down every lot.")
    said.append("In both, count the same kinds of defect at the same stage.")
    return tuple(said)


def _to_end(pairs: int) -> tuple[str, ...]:
    return (
        f"The number is settled before you begin. Judge after pair {number(pairs)}; do not stop "
        "early on a good look or a bad one.",
        "Stop at once on anything unsafe. If a needle breaks, stop the machine and find every "
        "part. If a part is missing, hold the pieces and tell the manager.",
    )


def _about_lots(lot_sd: float, wanted: int) -> tuple[str, ...]:
    if lot_sd > 0:
        return (
            "The answer holds for the lots sewn with. Lots of one backing differ so much here "
            f"that it would take about {number(wanted)} lots of each to judge the backing itself; "
            "more pieces cannot make up for that.",
        )
    return (
        "The answer holds for the lots sewn with: how far lots of one backing differ is not known.",
    )


def _quicker(found: Plan, twice: Plan | None) -> tuple[str, ...]:
    """Say what a trial for twice the fall would take, where this one is long."""
    if found.pairs is None or found.pairs <= LONG or twice is None or twice.pairs is None:
        return ()
    return (
        f"This is a long trial: {number(found.pieces or 0)} pieces. One for a fall of "
        f"{points(twice.rate_now - twice.rate_changed)}, twice as large, takes "
        f"{number(twice.pairs)} pairs.",
    )
