"""Suppliers side by side, and the like-for-like groups that the comparison rests on."""

from __future__ import annotations

from logbook.questions.suppliers.result import Stratum, SupplierRow, SuppliersResult
from logbook.questions.suppliers.stratified import Bounds
from logbook.questions.suppliers.words.phrases import size_of
from logbook.questions.table import Cell, Heading, Table, table
from logbook.short_figures import (
    ABSENT,
    count_short,
    interval_short,
    money_or_not_known,
    rate_short,
)
from logbook.vocabulary.backings import BACKINGS, WEIGHT_BANDS
from logbook.wording import MINUS, PER_STITCHES, number, percent

BANDS = {band.name: band.label for band in WEIGHT_BANDS}
VERDICTS = {
    "better": Cell("Better", "relief"),
    "worse": Cell("Worse", "alarm"),
    "no_worse": Cell("No worse", "relief"),
    "not_enough_data": Cell("Not enough yet"),
    None: Cell(ABSENT),
}


def tables(result: SuppliersResult) -> tuple[Table, ...]:
    """One row a supplier, the reference first; folded, the plain check and the groups."""
    return _side_by_side(result), *_check(result), _groups(result)


def _side_by_side(result: SuppliersResult) -> Table:
    pieces = result.kind.measure == "pieces"
    stitches = f"in {PER_STITCHES:,}"
    headings = (
        Heading("Supplier"),
        Heading("Runs", figures=True, wide_only=True),
        Heading("Lots", figures=True, wide_only=True),
        Heading("Counted", figures=True, wide_only=True),
        Heading("All jobs" if pieces else f"All jobs, {stitches}", figures=True, wide_only=True),
        Heading(f"On the same jobs, {'points' if pieces else stitches}", figures=True),
        Heading(f"{percent(result.level, 0)} interval", figures=True, wide_only=True),
        *((Heading("Verdict"),) if result.adjusted_given else ()),
        Heading(f"100 good pieces, {result.currency}", figures=True),
    )
    rows = [_row(result, row) for row in result.suppliers]
    return table("Suppliers side by side", headings, rows)


def _row(result: SuppliersResult, row: SupplierRow) -> list[str | Cell]:
    measure, counted = result.kind.measure, row.counted
    runs, lots = number(counted.runs), number(row.lots)
    base = count_short(measure, counted.count, counted.exposure, millions="M")
    rate = rate_short(measure, row.crude_rate)
    narrow = (base, f"{rate} of all jobs")
    verdict = (_verdict(row),) if result.adjusted_given else ()
    return [
        Cell(row.supplier, narrow=narrow),
        runs,
        lots,
        base,
        rate.removesuffix(f" in {PER_STITCHES:,}"),
        *_against(result, row),
        *verdict,
        money_or_not_known(100 * result.good_piece(row.supplier)[0]),
    ]


def _verdict(row: SupplierRow) -> Cell:
    usual = VERDICTS[row.adjusted.verdict]
    if row.adjusted.verdict == "worse" or not row.adjusted.worse_on:
        return usual
    on = ", ".join(BACKINGS.label_of(each.backing).lower() for each in row.adjusted.worse_on)
    return Cell(f"Worse on {on}", "alarm")


def _against(result: SuppliersResult, row: SupplierRow) -> tuple[str, str]:
    """Say the difference on the same jobs, and its interval: plus is more than the reference."""
    if row.supplier == result.reference:
        return "reference", ""
    if row.on_same_jobs is None:
        return "not comparable", ""
    return _signs(result, *row.on_same_jobs)


def _signs(result: SuppliersResult, estimate: float, interval: Bounds) -> tuple[str, str]:
    measure = result.kind.measure
    said = f"{size_of(estimate, measure)} {'more' if estimate > 0 else 'fewer'}"
    return said, _signed(interval_short(measure, interval).removesuffix(" %"))


def _signed(bounds: str) -> str:
    """Say ``0.4 to 1.9`` as ``+0.4 to +1.9``."""
    parts = bounds.split(" to ")
    if len(parts) != 2:
        return bounds
    return " to ".join(
        f"{MINUS}{part[1:]}" if part.startswith("-") else f"+{part}" for part in parts
    )


def _check(result: SuppliersResult) -> tuple[Table, ...]:
    """The plain check beside the fair comparison, where there is one."""
    if not result.adjusted_given:
        return ()
    headings = (
        Heading("Supplier"),
        Heading("Groups", figures=True, wide_only=True),
        Heading("Difference", figures=True),
        Heading(f"{percent(result.level, 0)} interval", figures=True),
    )
    rows: list[list[str | Cell]] = [
        [
            row.supplier,
            number(row.check.jobs),
            *_signs(result, row.check.like_for_like.estimate, row.check.like_for_like.interval),
        ]
        for row in result.suppliers
        if row.check is not None and row.check.jobs
    ]
    caption = "The plain check (Mantel-Haenszel), which takes all lots for the same"
    return (table(caption, headings, rows, folded=True),) if rows else ()


def _groups(result: SuppliersResult) -> Table:
    headings = (
        Heading("Fabric"),
        Heading("Backing"),
        Heading("Weight", wide_only=True),
        Heading("Supplier"),
        Heading("Counted", figures=True),
        Heading("Rate", figures=True),
        Heading(f"{percent(result.level, 0)} interval", figures=True, wide_only=True),
        Heading("Used", wide_only=True),
    )
    caption = f"The evidence: {len(result.strata)} groups of fabric, backing and weight"
    rows = [_group(result, each) for each in result.strata]
    return table(caption, headings, rows, folded=True)


def _group(result: SuppliersResult, each: Stratum) -> list[str | Cell]:
    measure = result.kind.measure
    return [
        each.job.fabric or "not recorded",
        BACKINGS.label_of(each.job.backing or ABSENT),
        BANDS.get(each.job.weight_band or "", "not recorded"),
        each.supplier,
        count_short(measure, each.counted.count, each.counted.exposure, millions="million"),
        rate_short(measure, each.rate),
        interval_short(measure, each.interval),
        "yes" if each.like_for_like else "no, not shared",
    ]
