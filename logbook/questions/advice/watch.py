"""What to mind about a change: cautions of the trade, and ills that the record saw it bring."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import polars as pl

from logbook.questions.advice.job import BACKING_PARTS
from logbook.vocabulary.backings import BACKING_FACTS
from logbook.vocabulary.cautions import CAUTIONS
from logbook.vocabulary.defects import DefectKind
from logbook.vocabulary.rules import RULES_OF_THUMB, RuleOfThumb
from logbook.wording import number, percent

FEWEST_SEEN = 4
TIMES_AS_OFTEN = 2.0
_AGREED = ("contested", "usual", "strong")
"""How far a rule of thumb is agreed, the least first."""
_SAYS = {caution.name: caution.says for caution in CAUTIONS}


def cautions_of(
    changes: Mapping[str, str | None], *, topping_priced: bool = False
) -> tuple[str, ...]:
    """Say what a person must mind in making the changes.

    Parameters
    ----------
    changes
        Factor → word.
    topping_priced
        Whether the saving counts what the topping costs.
    """
    said: list[str] = []
    heated = {"fusible_sheer_mesh", "heat_away_film"}
    if heated & {word for word in changes.values() if word is not None}:
        said.append(_SAYS["heat"])
    if changes.get("hooping") == "adhesive":
        said.append(_SAYS["spray_adhesive"])
    if changes.get("hooping") == "clamped":
        said.append(_SAYS["magnetic_frames"])
    if {"needle_nm", "needle_point"} & set(changes):
        said.append(
            "Switch the machine off before changing needles, and count them: old and new, whole "
            "and broken. Follow the machine maker's instructions."
        )
    backing = changes.get("backing")
    if backing is not None and backing in BACKING_FACTS:
        said += BACKING_FACTS[backing].cautions
    if "speed_band" in changes:
        said.append("What slower or faster sewing costs in machine time is not counted.")
    if changes.get("topping") not in (None, "none"):
        said.append(
            "The time to remove the film is not counted; its price is."
            if topping_priced
            else "The price of the film, and the time to remove it, are not counted."
        )
    return tuple(dict.fromkeys(said))


def against_common_practice(
    fabric: Mapping[str, str], setup: Mapping[str, str | None], changes: Mapping[str, str | None]
) -> tuple[tuple[str, ...], bool]:
    """Say which rules of thumb the changed setup would break and the present one does not.

    Parameters
    ----------
    fabric
        Class and attributes of the fabric, as rules name them.
    setup, changes
        Factor → word, now and what would change.

    Returns
    -------
    tuple
        The rules, and whether they weigh against the change: not where sources contradict each
        other on them, nor where the change mends a broken rule that is at least as well agreed.
    """
    before = _words(setup) | dict(fabric)
    after = _words({**setup, **changes}) | dict(fabric)
    touched = [
        rule for rule in RULES_OF_THUMB if rule.expects and set(rule.conditions) & set(changes)
    ]
    broken = [rule for rule in touched if rule.speaks_to(after) and not rule.speaks_to(before)]
    mended = [rule for rule in touched if rule.speaks_to(before) and not rule.speaks_to(after)]
    return (
        tuple(
            f"Common practice ({rule.status}), where {rule.if_text}: {rule.then_text}"
            for rule in broken
        ),
        _best_agreed(broken) > _best_agreed(mended),
    )


def _best_agreed(rules: Sequence[RuleOfThumb]) -> int:
    return max((_AGREED.index(rule.status) for rule in rules), default=0)


def against_plain_counts(
    like: pl.DataFrame, setup: Mapping[str, str | None], changes: Mapping[str, str | None]
) -> tuple[str, ...]:
    """Say that like runs with the changes clearly had more defects than like runs as now.

    Parameters
    ----------
    like
        Cells of any defect in words, on the job's fabric.
    setup, changes
        Factor → word, now and what would change.

    Notes
    -----
    Clearly: by more than one standard error of counting alone. Jobs differ, so that plain counts
    that lean the other way by less are mostly wrong (DEVELOPERS.md, section 9).
    """
    within: dict[str, str | None] = {}
    if set(changes) & set(BACKING_PARTS) and "backing" not in changes:
        within = {"backing": setup.get("backing")}
    count, pieces = _counted(like, {**within, **changes})
    before, pieces_before = _counted(
        like, {**within, **{name: setup.get(name) for name in changes}}
    )
    if not pieces or not pieces_before:
        return ()
    rate, rate_before = count / pieces, before / pieces_before
    pooled = (count + before) / (pieces + pieces_before)
    error = math.sqrt(pooled * (1 - pooled) * (1 / pieces + 1 / pieces_before))
    if rate - rate_before <= error:
        return ()
    return (
        f"Plain counts say otherwise: {percent(rate)} of {number(pieces)} like pieces with the "
        f"change had a defect, {percent(rate_before)} of {number(pieces_before)} as now.",
    )


def ills_seen(
    like: pl.DataFrame,
    setup: Mapping[str, str | None],
    changes: Mapping[str, str | None],
    kinds: Sequence[DefectKind],
) -> tuple[str, ...]:
    """Say which kinds like runs with the changes showed much more often than runs as now.

    Parameters
    ----------
    like
        Cells of the kinds in words, on the job's fabric.
    setup, changes
        Factor → word, now and what would change.
    kinds
        The kinds looked at.
    """
    said = []
    for kind in kinds:
        of_kind = like.filter(pl.col("kind") == kind.name)
        count, pieces = _counted(of_kind, changes)
        before, pieces_before = _counted(of_kind, {name: setup.get(name) for name in changes})
        if not pieces or not pieces_before or count < FEWEST_SEEN:
            continue
        rate, rate_before = count / pieces, before / pieces_before
        if rate > TIMES_AS_OFTEN * rate_before and rate - rate_before > 0.002:
            said.append(
                f"Watch {kind.label.lower()}: like runs with the change showed {number(count)} in "
                f"{number(pieces)} pieces ({percent(rate)}), those as now {number(before)} in "
                f"{number(pieces_before)} ({percent(rate_before)}); plain counts, whatever else "
                "differed."
            )
    return tuple(said)


def _counted(cells: pl.DataFrame, words: Mapping[str, str | None]) -> tuple[int, float]:
    had = cells.filter(
        *(pl.col(name).eq_missing(pl.lit(word, pl.String)) for name, word in words.items())
    )
    return int(had["count"].sum()), float(had["exposure"].sum())


def _words(setup: Mapping[str, str | None]) -> dict[str, str]:
    return {name: word for name, word in setup.items() if word is not None}
