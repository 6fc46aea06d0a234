"""A fair trial of one change: what changes, what is held, in which order its loads are sewn."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import date
from typing import Any, Literal, NoReturn, TypeAlias

from logbook.errors import RecordError
from logbook.runs.columns import COLUMNS
from logbook.runs.factors import FACTORS, factor_label, level_label
from logbook.vocabulary.bands import band_of

Arm: TypeAlias = Literal["as now", "changed"]
AS_NOW: Arm = "as now"
CHANGED: Arm = "changed"
ARMS: tuple[Arm, ...] = (AS_NOW, CHANGED)
State: TypeAlias = Literal["planned", "running", "ended"]
STATES: tuple[State, ...] = ("planned", "running", "ended")
SCOPE: tuple[str, ...] = ("fabric", "design", "job", "machine", "fabric_shade", "site")
"""Columns that say to which work a trial belongs."""
LONGEST_WHY = 500
LARGEST_SEED = 10**6
_COLUMNS = {each.name: each for each in COLUMNS}
_BANDED = {each.column: each.of for each in FACTORS if each.bands}


@dataclass(frozen=True, slots=True)
class TrialChange:
    """One part of the setup: a column of the run sheet or its band, and its value in each arm."""

    column: str
    before: str | None
    after: str | None

    def value(self, arm: Arm) -> str | None:
        """What it is in an arm."""
        return self.before if arm == AS_NOW else self.after

    def words(self, arm: Arm) -> str:
        """Say it in an arm: ``Topping: water-soluble film``."""
        return f"{factor_label(self.column)}: {level_label(self.column, self.value(arm))}"


@dataclass(frozen=True, slots=True)
class Trial:
    """A trial as it is kept.

    Attributes
    ----------
    changes
        What is changed; several only where they come together, as the parts of a backing do.
    scope
        Which work it is sewn on: columns of the run sheet and their values.
    defect
        The kind of defect that decides; every kind is looked at.
    pieces_per_arm, pairs
        Pieces of each load, and pairs of loads.
    first
        Which arm is sewn first in each pair, as drawn.
    seed
        From which the order was drawn.
    looks
        Pairs after which it is looked at.
    rate_now, smallest_difference, cost_per_defective, extra_material
        Rate of the work as now; smallest fall worth having; what a defective piece costs and what
        the change costs in material, in money a piece. None where not known.
    overdispersion, lot_sd, lots_each
        How restless runs are on record, how far lots differ where they matter, and lots of each
        arm.
    alpha, power
        Chance of a false alarm over all looks, and of finding the smallest difference.
    planned_on, state, started_on, ended_on, why
        What became of it.
    verdict, says
        Of its last judgement once it has ended, and its sentence.
    came_from
        ``by hand``, or the suggestion that it tries.
    """

    changes: tuple[TrialChange, ...]
    scope: Mapping[str, str]
    defect: str
    pieces_per_arm: int
    pairs: int
    first: tuple[Arm, ...]
    seed: int
    looks: tuple[int, ...]
    rate_now: float
    smallest_difference: float
    overdispersion: float
    planned_on: date
    lot_sd: float = 0.0
    lots_each: int = 1
    cost_per_defective: float | None = None
    extra_material: float | None = None
    alpha: float = 0.05
    power: float = 0.8
    state: State = "planned"
    started_on: date | None = None
    ended_on: date | None = None
    why: str | None = None
    verdict: str | None = None
    says: str | None = None
    came_from: str = "by hand"

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        if not self.changes:
            _refuse("changes", "say what is changed, from what, to what")
        for each in self.changes:
            if each.before == each.after:
                _refuse("changes", f"{factor_label(each.column).lower()} is the same in both arms")
        if not self.scope or set(self.scope) - set(SCOPE):
            _refuse("scope", f"say on which work it is sewn: {', '.join(SCOPE)}")
        if self.pieces_per_arm < 1:
            _refuse("pieces_per_arm", "a load has at least one piece")
        if len(self.first) != self.pairs or set(self.first) - set(ARMS):
            _refuse("first", f"an order is needed for each of {self.pairs} pairs")
        if self.state not in STATES:
            _refuse("state", f"{self.state!r} is none of {', '.join(STATES)}")
        if (self.ended_on is None) != (self.state != "ended"):
            _refuse("ended_on", "a trial has a day of its end when it has ended")
        if len(self.why or "") > LONGEST_WHY:
            _refuse("why", f"the reason has more than {LONGEST_WHY} letters")

    @property
    def pieces(self) -> int:
        """Pieces of the whole trial, both arms."""
        return 2 * self.pairs * self.pieces_per_arm

    @property
    def title(self) -> str:
        """What is tried: ``Topping: none → water-soluble film, on terry towel``."""
        said = ", ".join(
            f"{each.words(AS_NOW)} → {level_label(each.column, each.after)}"
            for each in self.changes
        )
        return f"{said}, on {', '.join(self.scope.values())}"

    def arm_words(self, arm: Arm) -> str:
        """Say an arm: ``Changed (Topping: water-soluble film)``."""
        return f"{arm.capitalize()} ({', '.join(each.words(arm) for each in self.changes)})"

    def setting(self, arm: Arm) -> dict[str, Any]:
        """Values of an arm for the run sheet's columns; a band names no value and is left out."""
        return {
            each.column: _as_column(each.column, value)
            for each in self.changes
            if each.column in _COLUMNS and (value := each.value(arm)) is not None
        }

    def is_of(self, run: Mapping[str, Any]) -> bool:
        """Whether a run is of the work that the trial is sewn on."""
        return all(_alike(run.get(name), value) for name, value in self.scope.items())

    def arm_sewn(self, run: Mapping[str, Any]) -> Arm | Literal["neither"] | None:
        """Which arm a run's setup is; ``neither`` of both, or None where it does not say."""
        told = [(each, _level_of(run, each.column)) for each in self.changes]
        known = [(each, value) for each, value in told if value is not None]
        if not known:
            return None
        for arm in ARMS:
            if all(_alike(value, each.value(arm)) for each, value in known):
                return arm
        return "neither"

    def plain(self) -> dict[str, Any]:
        """Plain values, as a document keeps them."""
        made = asdict(self)
        for name in ("planned_on", "started_on", "ended_on"):
            made[name] = made[name].isoformat() if made[name] else None
        return made | {name: list(made[name]) for name in ("changes", "first", "looks")}


@dataclass(frozen=True, slots=True)
class KeptTrial:
    """A trial as it stands in its collection, and the version that was read."""

    ref: str
    version: int
    trial: Trial


def drawn_order(pairs: int, seed: int) -> tuple[Arm, ...]:
    """Draw which arm is sewn first in each pair: each as often as the other, chance decides when.

    Blocks of two loads with a drawn order, balanced over blocks of four pairs, so that no arm is
    first in a row for long.
    """
    chance = random.Random(seed)
    order: list[Arm] = []
    while len(order) < pairs:
        block: list[Arm] = [AS_NOW, AS_NOW, CHANGED, CHANGED]
        chance.shuffle(block)
        order += block
    return tuple(order[:pairs])


def trial_from(plain: Mapping[str, Any]) -> Trial:
    """A trial read back from plain values.

    Raises
    ------
    RecordError
        A value cannot be.
    """
    known = {each.name for each in fields(Trial)}
    values = {name: value for name, value in plain.items() if name in known}
    values["changes"] = tuple(TrialChange(**each) for each in values["changes"])
    for name in ("first", "looks"):
        values[name] = tuple(values[name])
    for name in ("planned_on", "started_on", "ended_on"):
        told = values.get(name)
        values[name] = date.fromisoformat(told) if isinstance(told, str) else told
    return Trial(**values)


def arm_named(text: object) -> Arm | None:
    """The arm that a cell of ``trial_arm`` means; None where it means none."""
    said = str(text or "").casefold().replace("_", " ").replace("-", " ").strip()
    return next((arm for arm in ARMS if arm == said), None)


def values_alike(one: object, other: object) -> bool:
    """Whether two recorded values are the same, as numbers or as words."""
    return _alike(one, other)


def _level_of(run: Mapping[str, Any], column: str) -> Any:
    measured = _BANDED.get(column)
    if measured is None:
        return run.get(column)
    value = run.get(measured.name)
    band = None if value is None else band_of(float(value), measured.bands)
    return None if band is None else band.name


def _as_column(name: str, value: str) -> Any:
    kind = _COLUMNS[name].type
    return int(float(value)) if kind == "integer" else float(value) if kind == "number" else value


def _alike(one: object, other: object) -> bool:
    if one is None or other is None:
        return one is other
    try:
        return abs(float(str(one)) - float(str(other))) < 1e-9
    except ValueError:
        return " ".join(str(one).split()).casefold() == " ".join(str(other).split()).casefold()


def _refuse(field: str, sentence: str) -> NoReturn:
    raise RecordError(f"The trial was not kept: {sentence}.", reasons={field: sentence})


def held_columns(changes: Sequence[TrialChange]) -> tuple[str, ...]:
    """Columns that must be the same in both loads of a pair, of what a trial does not change."""
    changed = {_BANDED[each.column].name if each.column in _BANDED else each.column
               for each in changes}  # fmt: skip
    parts = {_COLUMNS[name].part for name in changed if name in _COLUMNS}
    return tuple(
        each.name
        for each in COLUMNS
        if each.role in ("job", "setup", "surroundings", "people", "judging")
        and each.name not in changed
        and not (each.part == "backing" and "backing" in parts)
        and each.name not in _MAY_DIFFER
    )


_MAY_DIFFER = frozenset(
    {"trial", "trial_arm", "shift", "needle_changed", "needle_age_stitches", "stitches_per_piece"}
)
"""Of the hour and of the trial itself: two loads that follow one another need not share them."""
