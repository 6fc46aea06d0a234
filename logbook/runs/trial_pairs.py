"""The loads of a trial as they were sewn: paired, and what went otherwise than planned."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from logbook.runs.columns import COLUMNS
from logbook.runs.factors import factor_label
from logbook.runs.trials import (
    AS_NOW,
    CHANGED,
    Arm,
    Trial,
    arm_named,
    held_columns,
    values_alike,
)

NEARLY = 0.1
"""Measured settings that differ by a smaller share are the same: nobody sets 800 twice alike."""
_MEASURED = frozenset(each.name for each in COLUMNS if each.type == "number")
Run = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Load:
    """One load: the runs of one arm that followed one another."""

    arm: Arm
    runs: tuple[Run, ...]

    @property
    def refs(self) -> tuple[str, ...]:
        """References of its runs."""
        return tuple(str(each["run_ref"]) for each in self.runs)

    @property
    def pieces(self) -> int:
        """Pieces sewn; those inspected where that was not recorded."""
        return sum(each.get("pieces_sewn") or each.get("pieces_inspected") or 0
                   for each in self.runs)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SewnPair:
    """Two loads that belong together.

    Attributes
    ----------
    number
        From 1, in the order in which pairs were begun.
    now, changed
        Its loads.
    first, planned_first
        Which arm was sewn first, and which was to be; None past the planned pairs.
    differs
        Columns that were to be the same and are not.
    """

    number: int
    now: Load
    changed: Load
    first: Arm
    planned_first: Arm | None
    differs: tuple[str, ...]

    @property
    def counts(self) -> bool:
        """Whether it is judged: nothing else was changed between its loads."""
        return not self.differs

    @property
    def out_of_order(self) -> bool:
        """Whether it was sewn the other way round than drawn."""
        return self.planned_first is not None and self.first != self.planned_first


@dataclass(frozen=True, slots=True)
class NextLoad:
    """What is to be sewn next: pair, arm, pieces, and whether it is a pair's second load."""

    pair: int
    arm: Arm
    pieces: int
    second: bool


@dataclass(frozen=True, slots=True)
class SewnTrial:
    """All that was sewn of a trial.

    Attributes
    ----------
    pairs
        Whole pairs.
    half
        Loads that wait for their partner, by machine.
    left_out
        Runs that are in no pair, and why.
    swapped
        Runs whose setup is the other arm's than they say; they count as they were sewn.
    """

    pairs: tuple[SewnPair, ...] = ()
    half: Mapping[str, Load] = field(default_factory=dict)
    left_out: Mapping[str, str] = field(default_factory=dict)
    swapped: tuple[str, ...] = ()

    @property
    def counted(self) -> tuple[SewnPair, ...]:
        """Pairs that are judged, in order."""
        return tuple(each for each in self.pairs if each.counts)


def sewn_trial(trial: Trial, runs: Sequence[Run]) -> SewnTrial:
    """Pair the runs of a trial, machine by machine, in the order in which they were finished.

    Parameters
    ----------
    trial
        The trial as planned.
    runs
        Those that carry it, as mappings of the run sheet's columns.

    Returns
    -------
    SewnTrial
        A run counts in the arm that its setup shows, whatever it says; where the setup is of
        neither arm, or the work is not the trial's, it is left out.
    """
    found = _Walk(trial, held_columns(trial.changes))
    for run in sorted(runs, key=lambda each: (str(each.get("finished_at")), str(each["run_ref"]))):
        found.take(run)
    return SewnTrial(tuple(found.pairs), dict(found.half), found.left_out, tuple(found.swapped))


def next_load(trial: Trial, sewn: SewnTrial, machine: str | None) -> NextLoad | None:
    """What to sew next on a machine; None where all planned pairs are sewn or begun."""
    begun = len(sewn.pairs) + len(sewn.half)
    waiting = sewn.half.get(machine or "")
    if waiting is not None:
        left = trial.pieces_per_arm - waiting.pieces
        if left > 0:
            return NextLoad(begun, waiting.arm, left, second=False)
        other = CHANGED if waiting.arm == AS_NOW else AS_NOW
        return NextLoad(begun, other, trial.pieces_per_arm, second=True)
    # A pair that does not count is sewn again, at the end, in an order as drawn.
    lost = len(sewn.pairs) - len(sewn.counted)
    if begun >= trial.pairs + lost:
        return None
    arm = trial.first[begun % trial.pairs]
    return NextLoad(begun + 1, arm, trial.pieces_per_arm, second=False)


@dataclass(slots=True)
class _Walk:
    """Runs taken one after another; on each machine one pair is open at a time."""

    trial: Trial
    held: tuple[str, ...]
    pairs: list[SewnPair] = field(default_factory=list)
    half: dict[str, Load] = field(default_factory=dict)
    left_out: dict[str, str] = field(default_factory=dict)
    swapped: list[str] = field(default_factory=list)

    def take(self, run: Run) -> None:
        ref, arm = str(run["run_ref"]), self._arm(run)
        if arm is None:
            return
        place = str(run.get("machine") or "")
        waiting = self.half.get(place)
        if waiting is None:
            self.half[place] = Load(arm, (run,))
        elif waiting.arm != arm:
            del self.half[place]
            self._pair(waiting, Load(arm, (run,)))
        elif waiting.pieces < self.trial.pieces_per_arm:
            self.half[place] = Load(arm, (*waiting.runs, run))
        else:
            for lone in waiting.refs:
                self.left_out[lone] = f"no load of the other arm followed it before {ref}"
            self.half[place] = Load(arm, (run,))

    def _arm(self, run: Run) -> Arm | None:
        ref, says, shows = str(run["run_ref"]), arm_named(run.get("trial_arm")), None
        if not self.trial.is_of(run):
            other = next(
                name for name, value in self.trial.scope.items()
                if not values_alike(run.get(name), value)
            )  # fmt: skip
            found = run.get(other) or "not recorded"
            self.left_out[ref] = f"it is other work: {factor_label(other).lower()} is {found}"
            return None
        shows = self.trial.arm_sewn(run)
        if shows == "neither":
            self.left_out[ref] = "its setup is that of neither arm"
            return None
        if says is None and shows is None:
            self.left_out[ref] = "neither its arm nor its setup says which load it was"
            return None
        if says is not None and shows is not None and says != shows:
            self.swapped.append(ref)
        return shows or says

    def _pair(self, first: Load, second: Load) -> None:
        number = len(self.pairs) + 1
        now, changed = (first, second) if first.arm == AS_NOW else (second, first)
        planned = self.trial.first[number - 1] if number <= self.trial.pairs else None
        differs = tuple(
            name for name in self.held
            if not _same(name, [run.get(name) for run in (*now.runs, *changed.runs)])
        )  # fmt: skip
        self.pairs.append(SewnPair(number, now, changed, first.arm, planned, differs))


def _same(name: str, values: Sequence[Any]) -> bool:
    """Whether all recorded values are the same; one that was not recorded is taken as the rest."""
    known = [each for each in values if each is not None]
    if name in _MEASURED and known:
        return bool(max(known) - min(known) <= NEARLY * max(known))
    return all(values_alike(each, known[0]) for each in known)
