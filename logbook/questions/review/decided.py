"""What earlier reviews decided on, and whether it worked: the rate before it was done and since."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal, TypeAlias

import polars as pl

from logbook.kernels.before_after import BeforeAfter, before_after
from logbook.runs.actions import DecidedAction, KeptAction
from logbook.runs.columns import COLUMNS
from logbook.vocabulary.defects import DefectKind
from logbook.wording import PER_STITCHES, count_words, number, rate_only

Worked: TypeAlias = Literal["fewer", "more", "no_clear_difference", "too_early"]

FEWEST_WEEKS = 4
"""With fewer weeks with runs before, there is nothing to compare with."""

FEWEST_EXPECTED = 5.0
"""So many must be expected since at the rate before, else a lack of them says nothing."""

NOT_A_TRIAL = (
    "Before and after an action other things changed as well, and a bad stretch often ends by "
    "itself: these are comparisons, not trials."
)


@dataclass(frozen=True, slots=True, eq=False)
class Watched:
    """An action, and the cells that show what came of it.

    Attributes
    ----------
    kept
        The action.
    kind
        The kind of defect that it is about; None where none, or the shop has it no more.
    before, after
        Cells of that kind by week, of the days before the one on which it was done and of those
        after; None where nothing is to be compared.
    """

    kept: KeptAction
    kind: DefectKind | None = None
    before: pl.DataFrame | None = None
    after: pl.DataFrame | None = None


@dataclass(frozen=True, slots=True)
class Side:
    """What was counted on one side of an action."""

    count: int
    exposure: float
    weeks: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """Whether an action worked, as far as the counts can say.

    ``worked`` is ``fewer`` or ``more`` where the interval of the difference leaves out none.
    """

    worked: Worked
    before: Side
    after: Side
    change: BeforeAfter
    says: str


@dataclass(frozen=True, slots=True)
class Decided:
    """An action with its words.

    Attributes
    ----------
    kept
        The action as kept.
    outcome
        None where it names no kind of defect or is not done.
    about
        What it is about: ``Puckering, machine M3``; empty where nothing is named.
    standing
        Where it stands: ``Done on 5 October 2026.``
    """

    kept: KeptAction
    outcome: Outcome | None
    about: str
    standing: str

    @property
    def action(self) -> DecidedAction:
        """What was decided."""
        return self.kept.action

    @property
    def details(self) -> str:
        """By whom, about what and when decided, to follow what is to be done."""
        action = self.action
        by = f", by {action.by}" if action.by else ""
        about = f" ({self.about})" if self.about else ""
        return f"{by}{about}, decided in week {action.decided}"

    @property
    def says(self) -> str:
        """The action in one line: what, by whom, about what, and when it was decided."""
        return f"{self.action.what}{self.details}"

    @property
    def result(self) -> str:
        """Where it stands and whether it worked."""
        return f"{self.standing} {self.outcome.says if self.outcome else ''}".strip()


def decided(watched: Watched, *, week: str) -> Decided:
    """Put an action into words, and say whether it worked.

    Parameters
    ----------
    watched
        The action and its cells.
    week
        The week under review.
    """
    action = watched.kept.action
    outcome = None
    if watched.kind is not None and watched.before is not None and watched.after is not None:
        outcome = _outcome(watched.kind, watched.before, watched.after, _narrowed(action))
    about = ", ".join(
        ([watched.kind.label] if watched.kind else [action.kind] if action.kind else [])
        + _parts(action)
    )
    return Decided(watched.kept, outcome, about, _standing(action, week))


def _outcome(kind: DefectKind, before: pl.DataFrame, after: pl.DataFrame, where: str) -> Outcome:
    old, new = _side(before), _side(after)
    change = before_after(
        count_before=before["count"].to_numpy(),
        exposure_before=before["exposure"].to_numpy(),
        count_after=after["count"].to_numpy(),
        exposure_after=after["exposure"].to_numpy(),
        measure=kind.measure,
    )
    worked = _worked(old, new, change)
    return Outcome(worked, old, new, change, _says(kind, old, new, change, worked, where))


def _side(cells: pl.DataFrame) -> Side:
    seen = cells.filter(pl.col("exposure") > 0)
    return Side(int(seen["count"].sum()), float(seen["exposure"].sum()), seen.height)


def _worked(old: Side, new: Side, change: BeforeAfter) -> Worked:
    if old.weeks < FEWEST_WEEKS or not new.exposure > 0:
        return "too_early"
    if change.upper < 0:
        return "fewer"
    if change.lower > 0:
        return "more"
    expected = change.rate_before * new.exposure
    return "no_clear_difference" if expected >= FEWEST_EXPECTED else "too_early"


def _says(
    kind: DefectKind, old: Side, new: Side, change: BeforeAfter, worked: Worked, where: str
) -> str:
    head = f"{kind.label}{where}"
    if not old.exposure > 0:
        return f"{head}: too early to say; nothing was recorded before it to compare with."
    was = (
        f"{rate_only(kind.measure, change.rate_before)} before "
        f"({count_words(kind.measure, old.count, old.exposure)})"
    )
    if not new.exposure > 0:
        return f"{head}: {was}; too early to say, nothing is recorded since."
    now = (
        f"{rate_only(kind.measure, change.rate_after)} since "
        f"({count_words(kind.measure, new.count, new.exposure)})"
    )
    return f"{head}: {was}, {now}: {_compared(kind, old, change, worked)}."


def _compared(kind: DefectKind, old: Side, change: BeforeAfter, worked: Worked) -> str:
    scale = 100 if kind.measure == "pieces" else PER_STITCHES
    unit = "in 100 pieces" if kind.measure == "pieces" else f"per {number(scale)} stitches"
    lower, upper = change.lower * scale, change.upper * scale
    if worked in ("fewer", "more"):
        size = _figure(abs(change.difference * scale))
        least, most = sorted((abs(lower), abs(upper)))
        doubt = f"95 % interval {_figure(least)} to {_figure(most)} {worked}"
        return f"{worked} by {size} {unit} ({doubt})"
    span = f"between {_figure(-lower)} fewer and {_figure(upper)} more {unit}"
    if worked == "no_clear_difference":
        return f"no clear difference ({span}, 95 % interval)"
    if old.weeks < FEWEST_WEEKS:
        return f"too early to say, with fewer than {FEWEST_WEEKS} weeks before it to compare with"
    return f"too early to say ({span}, 95 % interval)"


def _figure(value: float) -> str:
    size = abs(value)
    return f"{value:.1f}" if size >= 0.95 else f"{value:.2f}" if size >= 0.01 else f"{value:.2g}"


def _narrowed(action: DecidedAction) -> str:
    parts = _parts(action)
    return f" ({', '.join(parts)})" if parts else ""


def _parts(action: DecidedAction) -> list[str]:
    columns = {each.name: each for each in COLUMNS}
    said = []
    for name, value in action.where.items():
        column = columns[name]
        words = value if column.choices is None else column.choices.label_of(value)
        said.append(f"{column.label.lower()} {words}")
    return said


def _standing(action: DecidedAction, week: str) -> str:
    if action.state == "open":
        if action.due is None:
            return "Open."
        late = "overdue: it was " if action.due < week else ""
        return f"Open, {late}due in week {action.due}."
    assert action.ended_on is not None
    why = f": {action.why.rstrip('.')}" if action.why else ""
    return f"{action.state.capitalize()} on {_day(action.ended_on)}{why}."


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
