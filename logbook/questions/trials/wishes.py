"""What somebody wants tried, as it is asked, and as the book understands it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from logbook.book.runs import known_spellings
from logbook.errors import ParameterError, RecordError
from logbook.questions.advice import asking
from logbook.runs.columns import COLUMNS
from logbook.runs.intake import parse_run
from logbook.runs.intake.headings import heading_name
from logbook.runs.trials import SCOPE, TrialChange
from logbook.store import Store

CHANGEABLE: tuple[str, ...] = tuple(
    each.name for each in COLUMNS if each.role == "setup" and each.name != "backing_lot"
)
"""Parts of a setup that a trial can change."""


MOST_A_LOAD = 10_000


@dataclass(frozen=True, slots=True)
class TrialWish:
    """A trial that is wanted.

    Attributes
    ----------
    scope
        On which work: ``fabric`` at least, ``design``, ``job``, ``machine`` …
    factor, before, after
        A column of the setup, as it is and as it is to be; or
    suggestion
        the how manieth suggestion of advice for that work is to be tried.
    defect
        Which kind of defect decides; ``any`` usually.
    pieces_per_arm
        Pieces of a load; half a usual run where not told.
    smallest_difference, worth
        Smallest fall worth having, a fraction; or the money it saves in 100 pieces. A quarter of
        the rate now where neither is told.
    power, alpha
        As in :func:`logbook.kernels.trials.plan`.
    seed
        To draw the order from; drawn itself where not told.
    """

    scope: Mapping[str, Any]
    factor: str | None = None
    before: str | None = None
    after: str | None = None
    suggestion: int | None = None
    defect: str = "any"
    pieces_per_arm: int | None = None
    smallest_difference: float | None = None
    worth: float | None = None
    power: float = 0.8
    alpha: float = 0.05
    seed: int | None = None


@dataclass(frozen=True, slots=True)
class Understood:
    """What is wanted, in the words of the book.

    ``rate_now`` and ``saved`` (a fall of the rate) are what advice expects of a suggestion.
    """

    changes: tuple[TrialChange, ...]
    scope: Mapping[str, str]
    came_from: str
    rate_now: float | None = None
    saved: float | None = None


def understood(store: Store, wish: TrialWish) -> Understood:
    """Read what is wanted with the spellings of the book.

    Raises
    ------
    ParameterError
        Neither a change nor a suggestion is told, or there is no such suggestion.
    RecordError
        A value cannot be.
    """
    _numbers_checked(wish)
    scope = _scope(store, wish)
    if wish.suggestion is not None:
        return _of_advice(store, wish.suggestion, scope)
    if not (wish.factor and wish.before and wish.after):
        raise _refused(
            "factor",
            "say what is to be tried: a part of the setup, as it is and as it is to be",
            "such as: topping none water_soluble_film --fabric pique; or --suggestion 1",
        )
    name = heading_name(wish.factor)
    if name not in CHANGEABLE:
        raise _refused(
            "factor",
            f"{wish.factor!r} is no part of a setup that a trial can change",
            f"the parts are {', '.join(CHANGEABLE)}",
        )
    before, after = (_read(store, {name: word})[name] for word in (wish.before, wish.after))
    return Understood((TrialChange(name, _plain(before), _plain(after)),), scope, "by hand")


def _of_advice(store: Store, place: int, scope: Mapping[str, str]) -> Understood:
    found = asking.advise(
        store,
        fabric=scope["fabric"],
        design=scope.get("design"),
        fabric_shade=scope.get("fabric_shade"),
    )
    if not 1 <= place <= len(found.suggestions):
        raise _refused(
            "suggestion",
            f"there is no suggestion {place} for this work: there are {len(found.suggestions)}",
            "ask logbook advise for them",
        )
    suggestion = found.suggestions[place - 1]
    return Understood(
        changes=tuple(
            TrialChange(each.factor, each.before, each.after)
            for each in suggestion.changes
            if each.before is not None and each.after is not None
        ),
        scope=scope,
        came_from=f"suggestion {place}",
        rate_now=found.expected_rate,
        saved=suggestion.pieces_saved_per_100 / 100,
    )


def _numbers_checked(wish: TrialWish) -> None:
    if not 0 < wish.alpha < 0.5:
        raise _refused("alpha", "the chance of a false alarm lies above 0 and below 0.5")
    if not wish.alpha < wish.power < 1:
        raise _refused("power", "the power lies above the chance of a false alarm and below 1")
    if wish.pieces_per_arm is not None and not 1 <= wish.pieces_per_arm <= MOST_A_LOAD:
        raise _refused("pieces_per_arm", f"a load has 1 to {MOST_A_LOAD:,} pieces")


def _scope(store: Store, wish: TrialWish) -> dict[str, str]:
    told = {name: value for name, value in wish.scope.items() if value not in (None, "")}
    if strange := sorted(set(told) - set(SCOPE)):
        raise _refused(strange[0], f"{strange[0]!r} does not say on which work to try")
    if "fabric" not in told:
        raise _refused("fabric", "say on which fabric it is tried", "name it with --fabric")
    return {name: _plain(value) for name, value in _read(store, told).items()}


def _read(store: Store, values: Mapping[str, Any]) -> dict[str, Any]:
    now = datetime.now(UTC)
    run = parse_run(
        {**values, "finished_at": now.isoformat(timespec="seconds"), "pieces_inspected": 1},
        shop=store.shop,
        known=known_spellings(store),
        now=now,
        outcome_needed=False,
    ).run.row(0, named=True)
    lost = {name: f"{name} {values[name]!r} is not understood" for name in values if not run[name]}
    if lost := {name: says for name, says in lost.items() if run[name] is None}:
        raise RecordError(f"{'; '.join(lost.values())}.", reasons=lost)
    return {name: run[name] for name in values}


def _plain(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _refused(name: str, says: str, hint: str | None = None) -> ParameterError:
    return ParameterError(f"No trial was planned: {says}.", hint, reasons={name: says})
