"""What cannot be true of a run: every rule once, with its name and a sentence for people.

A rule is a Polars expression over the run frame that is true where the run cannot be. One
row or a million, from the form, the API or a file, all pass the same rules.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache

import polars as pl

from logbook.runs.columns import EXPOSURES, WEIGHT_IN_OUNCES, Column, columns_with
from logbook.vocabulary.backings import GRAMS_PER_SQUARE_METRE_PER_OUNCE_PER_SQUARE_YARD
from logbook.vocabulary.defects import DEFECT_KINDS, DefectKind
from logbook.vocabulary.own_columns import Own, own_defect_kinds

EARLIEST = datetime(1900, 1, 1)
FURTHEST_AHEAD = timedelta(days=366)
"""A finish further in the future is a slip of the keyboard; a nearer one gets a note."""
WEIGHTS_AGREE_WITHIN = 0.02
"""Nominal weights in g/m² and oz/yd² are rounded; this is more than rounding explains."""


@dataclass(frozen=True, slots=True, eq=False)
class Rule:
    """One thing that cannot be true.

    Parameters
    ----------
    name
        The rule's own name, for tests and messages.
    column
        The column that is blamed.
    says
        The sentence for people; ``{column}`` stands for the row's value.
    broken
        True where the run cannot be; null counts as false.
    needs
        A column without which the rule says nothing: where no run has it, it is not asked.
    """

    name: str
    column: str
    says: str
    broken: pl.Expr
    needs: str | None = None

    @property
    def reads(self) -> frozenset[str]:
        """The columns that the rule looks at."""
        return frozenset(self.broken.meta.root_names())


def _recorded(name: str) -> pl.Expr:
    return pl.col(name).is_not_null()


_OUNCES_IN_GRAMS = pl.col("backing_oz_yd2") * GRAMS_PER_SQUARE_METRE_PER_OUNCE_PER_SQUARE_YARD
_PIECES = pl.coalesce("pieces_inspected", "pieces_sewn")

RUN_RULES: tuple[Rule, ...] = (
    Rule(
        "finished_at_recorded",
        "finished_at",
        "finished_at is empty: write when the run ended, such as 2026-10-31 or 2026-10-31 14:30",
        pl.col("finished_at").is_null(),
    ),
    Rule(
        "finished_at_not_before_1900",
        "finished_at",
        "finished_at is {finished_at}, before 1900",
        pl.col("finished_at") < EARLIEST,
    ),
    Rule(
        "exposure_recorded",
        "pieces_inspected",
        "nothing says how much was at risk: fill in pieces_inspected, pieces_sewn or stitches_sewn",
        pl.all_horizontal(pl.col(name).is_null() for name in EXPOSURES),
    ),
    Rule(
        "inspected_within_sewn",
        "pieces_inspected",
        "pieces_inspected is {pieces_inspected}, but only {pieces_sewn} pieces were sewn",
        pl.col("pieces_inspected") > pl.col("pieces_sewn"),
    ),
    Rule(
        "spoiled_and_reworked_within_sewn",
        "pieces_spoiled",
        "pieces_spoiled ({pieces_spoiled}) and pieces_reworked ({pieces_reworked}) together are "
        "more than the {pieces_sewn} pieces sewn",
        pl.col("pieces_spoiled").fill_null(0) + pl.col("pieces_reworked").fill_null(0)
        > pl.col("pieces_sewn"),
    ),
    Rule(
        "returned_within_sewn",
        "pieces_returned",
        "pieces_returned is {pieces_returned}, but only {pieces_sewn} pieces were sewn",
        pl.col("pieces_returned") > pl.col("pieces_sewn"),
        needs="pieces_returned",
    ),
    Rule(
        "defective_has_pieces",
        "pieces_defective",
        "pieces_defective is recorded, but neither pieces_inspected nor pieces_sewn",
        _recorded("pieces_defective") & _PIECES.is_null(),
    ),
    Rule(
        "defective_within_inspected",
        "pieces_defective",
        "pieces_defective is {pieces_defective}, but only {pieces_inspected} pieces were inspected",
        pl.col("pieces_defective") > pl.col("pieces_inspected"),
    ),
    Rule(
        "defective_within_sewn",
        "pieces_defective",
        "pieces_defective is {pieces_defective}, but only {pieces_sewn} pieces were sewn",
        pl.col("pieces_inspected").is_null() & (pl.col("pieces_defective") > pl.col("pieces_sewn")),
    ),
    Rule(
        "needle_parts_answered",
        "needle_parts_found",
        "needle_breaks is {needle_breaks}, but needle_parts_found is empty: write true if every "
        "part of each broken needle was found, false if not (the run is then held)",
        (pl.col("needle_breaks") > 0) & pl.col("needle_parts_found").is_null(),
    ),
    Rule(
        "pucker_grade_in_halves",
        "pucker_grade",
        "pucker_grade is {pucker_grade}; grades go from 1 to 5 in halves, such as 3.5",
        (pl.col("pucker_grade") * 2) % 1 != 0,
    ),
    Rule(
        "no_layers_without_backing",
        "backing_layers",
        "backing is none, but backing_layers is {backing_layers}",
        (pl.col("backing") == "none") & (pl.col("backing_layers") > 0),
    ),
    Rule(
        "weights_agree",
        "backing_oz_yd2",
        "backing_gsm ({backing_gsm}) and backing_oz_yd2 ({backing_oz_yd2}) are different weights: "
        "1 oz/yd² is 33.906 g/m²; keep the one that is right",
        (pl.col("backing_gsm") - _OUNCES_IN_GRAMS).abs()
        > WEIGHTS_AGREE_WITHIN * pl.col("backing_gsm"),
    ),
)
"""Rules between columns; to these come the limits of every column and the rules of each kind."""


def rules_for(own: Sequence[Own], *, now: datetime) -> tuple[Rule, ...]:
    """Every rule of a shop's run sheet, in the order in which reasons are told.

    Parameters
    ----------
    own
        Columns and defect kinds that the shop has added.
    now
        The present in the shop's zone, without offset: no run can have finished much later.
    """
    ahead = Rule(
        "finished_at_not_far_ahead",
        "finished_at",
        "finished_at is {finished_at}, more than a year from now",
        pl.col("finished_at") > now + FURTHEST_AHEAD,
    )
    limits, of_kinds = _lasting_rules(tuple(own))
    return (*limits, *RUN_RULES, ahead, *of_kinds)


@lru_cache(maxsize=8)
def _lasting_rules(own: tuple[Own, ...]) -> tuple[tuple[Rule, ...], tuple[Rule, ...]]:
    """The limits of the columns, and the rules of the kinds: the same at every call."""
    columns = (*columns_with(own), WEIGHT_IN_OUNCES)
    pieces = [kind for kind in (*DEFECT_KINDS, *own_defect_kinds(own)) if kind.measure == "pieces"]
    limits = tuple(rule for column in columns for rule in _limits(column))
    return limits, tuple(rule for kind in pieces for rule in _of_piece_kind(kind))


def _limits(column: Column) -> Iterator[Rule]:
    name, value = column.name, pl.col(column.name)
    if column.type == "text":
        yield Rule(
            f"{name}_not_too_long",
            name,
            f"{name} is longer than {column.longest} characters",
            value.str.len_chars() > column.longest,
            needs=name,
        )
    if column.choices is not None:
        allowed = column.choices.values
        yield Rule(
            f"{name}_on_its_list",
            name,
            f"{name} is {{{name}}}; it can be {', '.join(allowed)}",
            ~value.is_in(allowed),
            needs=name,
        )
    if column.type in ("integer", "number"):
        yield Rule(
            f"{name}_within_limits",
            name,
            f"{name} is {{{name}}}; it must be {_bounds(column)}",
            _outside(column),
            needs=name,
        )


def _outside(column: Column) -> pl.Expr:
    value = pl.col(column.name)
    broken = [] if column.type == "integer" else [~value.is_finite()]
    if column.lowest is not None:
        broken.append(value < column.lowest)
    if column.above is not None:
        broken.append(value <= column.above)
    if column.highest is not None:
        broken.append(value > column.highest)
    return pl.any_horizontal(broken)


def _bounds(column: Column) -> str:
    unit = f" {column.unit}" if column.unit and not column.unit[0].isdigit() else ""
    highest = f"{column.highest or 0:,.0f}".replace(",", " ")
    if column.above is not None:
        return f"above {column.above:g} and at most {highest}{unit}"
    return f"from {column.lowest:g} to {highest}{unit}"


def _of_piece_kind(kind: DefectKind) -> Iterator[Rule]:
    name, count = kind.name, pl.col(kind.name)
    yield Rule(
        f"{name}_has_pieces",
        name,
        f"{name} counts pieces, but neither pieces_inspected nor pieces_sewn is recorded",
        _recorded(name) & _PIECES.is_null(),
        needs=name,
    )
    yield Rule(
        f"{name}_within_inspected",
        name,
        f"{name} is {{{name}}}, but only {{pieces_inspected}} pieces were inspected",
        count > pl.col("pieces_inspected"),
        needs=name,
    )
    yield Rule(
        f"{name}_within_sewn",
        name,
        f"{name} is {{{name}}}, but only {{pieces_sewn}} pieces were sewn",
        pl.col("pieces_inspected").is_null() & (count > pl.col("pieces_sewn")),
        needs=name,
    )
    if kind.charged_to_setup:
        yield Rule(
            f"defective_covers_{name}",
            "pieces_defective",
            f"{name} shows on {{{name}}} pieces, but pieces_defective, which counts every piece "
            "with a defect, is {pieces_defective}",
            count > pl.col("pieces_defective"),
            needs=name,
        )


def sentence(rule: Rule) -> pl.Expr:
    """The rule's sentence with the row's values in it, as a text expression."""
    parts: list[pl.Expr] = []
    for text, name in re.findall(r"([^{}]+)|\{(\w+)\}", rule.says):
        parts.append(pl.lit(text) if text else _shown(name))
    return pl.concat_str(parts).alias("reason")


def _shown(name: str) -> pl.Expr:
    text = pl.col(name).cast(pl.String).str.replace(r"\.0+$|(:00)?\.0+$", "")
    shorter = pl.when(text.str.len_chars() > 40).then(text.str.slice(0, 40) + "…").otherwise(text)
    return shorter.fill_null("not recorded")
