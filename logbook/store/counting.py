"""Counting runs into cells: one grouped query for all the kinds asked about."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import polars as pl

from logbook.cells import GROUPINGS, MEASURES
from logbook.errors import StoreError
from logbook.runs.columns import NEEDLE_AGE, columns_with
from logbook.shop import Shop
from logbook.store.dialect import NEEDS_NEEDLE_AGE, Dialect, grouping
from logbook.store.interface import Window
from logbook.store.needle_age import WITHOUT, with_needle_age
from logbook.vocabulary.defects import DefectKind

PIECES = "coalesce(pieces_inspected, pieces_sewn)"
STITCHES = "coalesce(stitches_sewn, CAST(stitches_per_piece AS DOUBLE PRECISION) * pieces_sewn)"

TOTALS = (
    ("runs", "count(*)"),
    ("pieces_inspected", f"sum({PIECES})"),
    ("pieces_sewn", "sum(coalesce(pieces_sewn, pieces_inspected))"),
    ("stitches_sewn", f"sum({STITCHES})"),
    ("pieces_spoiled", "sum(pieces_spoiled)"),
    ("pieces_reworked", "sum(pieces_reworked)"),
    ("rework_minutes", "sum(rework_minutes)"),
    ("run_minutes", "sum(run_minutes)"),
    (
        "runs_inspected_assumed",
        "count(CASE WHEN pieces_inspected IS NULL AND pieces_sewn IS NOT NULL THEN 1 END)",
    ),
    ("runs_any_assumed", ""),
    ("runs_held", "count(CASE WHEN needle_parts_found = FALSE THEN 1 END)"),
)
_FLOATS = {"stitches_sewn", "rework_minutes", "run_minutes"}


def needs_needle_age(by: Sequence[str], window: Window) -> bool:
    """Whether the ages of needles are asked for, which must be made of all runs."""
    return bool(NEEDS_NEEDLE_AGE & {*by, *window.where})


def source(*, aged: bool, changed: bool) -> str:
    """What is selected from: the runs, with the ages of needles where they are asked for.

    ``changed`` says whether any change of a needle is on record.
    """
    if not aged:
        return "runs"
    return with_needle_age(STITCHES) if changed else WITHOUT


def piece_names(kinds: Sequence[DefectKind]) -> tuple[str, ...]:
    """Piece kinds that the setup can be charged with; the parts of ``any``."""
    return tuple(kind.name for kind in kinds if kind.measure == "pieces" and kind.charged_to_setup)


def any_count(kinds: Sequence[DefectKind]) -> str:
    """Pieces with at least one defect: as recorded, else at least the largest kind."""
    names = ", ".join(f'"{name}"' for name in piece_names(kinds))
    return f"coalesce(pieces_defective, greatest({names}))"


def totals_query(
    shop: Shop, by: Sequence[str], window: Window, dialect: Dialect, *, changed: bool = True
) -> tuple[str, list[Any]]:
    """SQL and bound values of whole-run sums by group; ``changed`` as of :func:`source`."""
    any_defect = any_count(shop.kinds)
    assumed = f"count(CASE WHEN pieces_defective IS NULL AND {any_defect} IS NOT NULL THEN 1 END)"
    sums = []
    for name, sql in TOTALS:
        kept = "DOUBLE PRECISION" if name in _FLOATS else "BIGINT"
        sums.append(f"CAST({sql or assumed} AS {kept}) AS {name}")
    return _grouped(sums, by, window, dialect, shop, changed=changed)


def cells_query(
    asked: Sequence[str],
    shop: Shop,
    by: Sequence[str],
    window: Window,
    dialect: Dialect,
    *,
    changed: bool = True,
) -> tuple[str, list[Any]]:
    """SQL and bound values that count the kinds asked about, one group a row.

    ``changed`` is as of :func:`source`.
    """
    kinds = shop.kinds
    if not asked:
        raise StoreError("Name at least one defect kind to count.")
    measure = {kind.name: kind.measure for kind in kinds} | {"any": "pieces"}
    if unknown := [name for name in asked if name not in measure]:
        raise StoreError(f"There is no defect kind {unknown[0]!r} in this book.")
    # A run by itself is no sum: grouping by a million references takes several times as long.
    add = "" if "run_ref" in by else "sum"
    sums = [each for name in asked for each in _sums_of(name, measure[name], kinds, add=add)]
    worked_out = _worked_out(asked, kinds)
    return _grouped(sums, by, window, dialect, shop, worked_out=worked_out, changed=changed)


def _sums_of(name: str, measure: str, kinds: Sequence[DefectKind], *, add: str) -> tuple[str, ...]:
    count = "_any" if name == "any" else f'"{name}"'
    exposure = "_pieces" if measure == "pieces" else "_stitches"
    at_risk = f"{count} IS NOT NULL AND {exposure} > 0"
    part = "1" if name == "any" else "0"
    if name in piece_names(kinds):
        # Of a run that did not show the kind nothing is known of what the kind spoils.
        part = f"(nullif(CAST({count} AS DOUBLE PRECISION), 0) / _whole)"
    sums = (
        ("runs", "BIGINT", "1"),
        ("exposure", "DOUBLE PRECISION", exposure),
        ("count", "BIGINT", count),
        ("spoiled", "DOUBLE PRECISION", f"pieces_spoiled * {part}"),
        ("reworked", "DOUBLE PRECISION", f"_reworked * {part}"),
        ("rework_minutes", "DOUBLE PRECISION", f"rework_minutes * {part}"),
    )
    return tuple(
        f'CAST({add}(CASE WHEN {at_risk} THEN {value} END) AS {kept}) AS "{name}|{what}"'
        for what, kept, value in sums
    )


def _worked_out(asked: Sequence[str], kinds: Sequence[DefectKind]) -> str:
    """Columns that every kind needs, worked out once a run.

    Repeated within every sum they make the query several times as slow.
    """
    own = [f'"{name}"' for name in asked if name != "any"]
    whole = " + ".join(f'coalesce("{name}", 0)' for name in piece_names(kinds))
    made = (
        f"{PIECES} AS _pieces",
        f"{STITCHES} AS _stitches",
        f"{any_count(kinds)} AS _any",
        f"nullif({whole}, 0) AS _whole",
        "pieces_spoiled",
        "rework_minutes",
        "CASE WHEN rework_minutes IS NULL THEN pieces_reworked END AS _reworked",
    )
    return ", ".join((*own, *made))


def long_cells(wide: pl.DataFrame, asked: Sequence[str], by: Sequence[str]) -> pl.DataFrame:
    """Turn one row a group into one row a kind and group; groups without a run fall away."""
    return pl.concat([_cells_of(wide, name, by) for name in asked])


def _cells_of(wide: pl.DataFrame, name: str, by: Sequence[str]) -> pl.DataFrame:
    own = wide.select(
        pl.lit(name).alias("kind"),
        *by,
        *(pl.col(f"{name}|{measure}").alias(measure) for measure in MEASURES),
    )
    there = own["runs"] > 0
    # Filtering copies, which for every kind of a long record takes gigabytes.
    return own if there.null_count() == 0 and there.all() else own.filter(there)


def _grouped(
    sums: Sequence[str],
    by: Sequence[str],
    window: Window,
    dialect: Dialect,
    shop: Shop,
    *,
    worked_out: str | None = None,
    changed: bool,
) -> tuple[str, list[Any]]:
    if unknown := [name for name in by if name not in groupings(shop)]:
        raise StoreError(f"Runs cannot be grouped by {unknown[0]!r}.")
    keys = [f'{grouping(name, dialect, shop)} AS "_{name}"' for name in by]
    named = [f'"_{name}" AS "{name}"' for name in by]
    where, values = conditions(window, dialect, shop)
    runs = source(aged=needs_needle_age(by, window), changed=changed)
    places = ", ".join(str(number) for number in range(1, len(keys) + 1))
    tail = f" GROUP BY {places} ORDER BY {places}" if keys else ""
    if worked_out and "run_ref" in by:
        # No two runs share a reference, so that what comes after it decides nothing.
        ordered = range(1, list(by).index("run_ref") + 2)
        tail = f" ORDER BY {', '.join(map(str, ordered))}"
    inner = ", ".join((*keys, worked_out or "*"))
    outer = ", ".join((*named, *sums))
    return f"SELECT {outer} FROM (SELECT {inner} FROM {runs}{where}) AS counted{tail}", values


def groupings(shop: Shop) -> frozenset[str]:
    """Everything that a shop's runs can be grouped and filtered by."""
    return frozenset((*GROUPINGS, *(each.name for each in shop.own_columns)))


def made_query(
    shop: Shop,
    window: Window,
    dialect: Dialect,
    *,
    refs: Sequence[str] | None,
    changed: bool,
) -> tuple[str, list[Any]]:
    """SQL and bound values of what the book makes of runs; ``changed`` as of :func:`source`.

    Of a few runs only the machines that they were sewn on are looked at.
    """
    where, values = conditions(window, dialect, shop, refs=refs)
    runs = source(aged=True, changed=changed)
    if refs is not None and changed:
        few = f"machine IN (SELECT machine FROM runs WHERE {_among(refs)}) OR machine IS NULL"
        runs, values = with_needle_age(STITCHES, among=few), [*refs, *values]
    shift, weekday = (grouping(name, dialect, shop) for name in ("shift", "weekday"))
    made = f"run_ref, {shift} AS shift, {weekday} AS weekday, {NEEDLE_AGE.name}"
    return f"SELECT {made} FROM {runs}{where}", values


def _among(refs: Sequence[str]) -> str:
    return f"run_ref IN ({', '.join('?' for _ in refs) or 'NULL'})"


def conditions(
    window: Window, dialect: Dialect, shop: Shop, *, refs: Sequence[str] | None = None
) -> tuple[str, list[Any]]:
    """The WHERE of a window, and of references among it, values bound apart."""
    parts: list[str] = []
    values: list[Any] = []
    if window.since is not None:
        parts.append("finished_at >= CAST(? AS DATE)")
        values.append(window.since)
    if window.until is not None:
        parts.append("finished_at < CAST(? AS DATE) + INTERVAL '1 day'")
        values.append(window.until)
    if window.site is not None:
        parts.append("lower(site) = lower(?)")
        values.append(window.site)
    found_by = groupings(shop) | {each.name for each in columns_with(shop.own)}
    for name, value in window.where.items():
        if name not in found_by:
            raise StoreError(f"Runs cannot be filtered by {name!r}.")
        parts.append(f"{grouping(name, dialect, shop)} {'IS NULL' if value is None else '= ?'}")
        values.extend([] if value is None else [value])
    searched = [each.name for each in columns_with(shop.own) if each.type == "text"]
    for word in window.words:
        found = (f'contains(lower("{name}"), lower(?))' for name in searched)
        parts.append(f"({' OR '.join(found)})")
        values.extend([word] * len(searched))
    if window.showing is not None:
        parts.append(f"{_counted_as(window.showing, shop.kinds)} > 0")
    if window.held:
        parts.append("needle_parts_found = FALSE")
    if refs is not None:
        parts.append(_among(refs))
        values.extend(refs)
    return (f" WHERE {' AND '.join(parts)}" if parts else "", values)


def _counted_as(name: str, kinds: Sequence[DefectKind]) -> str:
    if name == "any":
        return any_count(kinds)
    if name not in {kind.name for kind in kinds}:
        raise StoreError(f"There is no defect kind {name!r} in this book.")
    return f'"{name}"'
