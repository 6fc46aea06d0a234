"""The levels that stand out, the curves of ordered factors, and every level as evidence."""

from __future__ import annotations

from logbook.adjusted_comparison import AdjustedCurve
from logbook.questions.factors.result import FactorEffect, FactorsResult
from logbook.questions.table import Cell, Heading, Table, Tone, table
from logbook.runs.factors import factor_label, level_label
from logbook.short_figures import ABSENT, count_short, interval_short, rate_short
from logbook.wording import number, percent, times, times_interval

BAR_WIDTH = 24
EVIDENCE = {"strong": "Strong", "fair": "Fair", "thin": "Thin", "none": "None", None: ABSENT}


def tables(result: FactorsResult) -> tuple[Table, ...]:
    """The findings, the curves worth their lines, and folded every level that was looked at."""
    curves = (_curve(result, curve) for curve in result.curves if _shown(result, curve))
    return (_findings(result), *curves, _levels(result))


def _findings(result: FactorsResult) -> Table:
    pieces = result.kind.measure == "pieces"
    headings = (
        Heading("Level"),
        Heading("pieces" if pieces else "stitches", figures=True, wide_only=True),
        Heading("all jobs", figures=True, wide_only=True),
        Heading(f"like jobs ({percent(result.level, 0)})", figures=True),
        Heading(f"times the others'{_ratio_level(result)}", figures=True),
        Heading("evidence"),
    )
    return table("What stands out", headings, [_finding(result, each) for each in result.findings])


def _finding(result: FactorsResult, each: FactorEffect) -> list[str | Cell]:
    adjusted, measure = each.adjusted, result.kind.measure
    interval = interval_short(measure, adjusted.rate_interval).replace(" %", "")
    return [
        f"{each.factor_label}: {each.level_label.partition(', ')[0]}",
        number(adjusted.exposure) if measure == "pieces" else f"{adjusted.exposure / 1e6:.1f} M",
        rate_short(measure, adjusted.crude_rate),
        f"{rate_short(measure, adjusted.rate)} ({interval})",
        _ratio(each),
        EVIDENCE[each.evidence],
    ]


def _ratio_level(result: FactorsResult) -> str:
    if not result.findings:
        return ""
    return f" ({percent(result.findings[0].adjusted.ratio_level, 0)})"


def _ratio(each: FactorEffect) -> Cell:
    if not each.comparable:
        return Cell(ABSENT)
    adjusted = each.adjusted
    said = times(adjusted.ratio).removesuffix(" times")
    tone: Tone = "alarm" if adjusted.ratio > 1 else "relief"
    words = f"{said} ({times_interval(adjusted.ratio_interval)})"
    return Cell(words, tone if adjusted.finding else "")


def _shown(result: FactorsResult, curve: AdjustedCurve) -> bool:
    """Whether a curve is worth its lines: it rises or falls, or a level of it stands out."""
    found = any(each.adjusted.factor == curve.factor for each in result.findings)
    return bool(curve.points) and (found or curve in result.trends)


def _curve(result: FactorsResult, curve: AdjustedCurve) -> Table:
    measure = result.kind.measure
    top = max(point.rate for point in curve.points)
    over = f"{number(curve.exposure)} {'pieces' if measure == 'pieces' else 'stitches'}"
    level = percent(result.level, 0)
    caption = (
        f"{factor_label(curve.factor)}, every level over the same {over}: "
        f"{times(curve.per_step)} a step up ({level} interval "
        f"{times_interval(curve.per_step_interval)})"
    )
    headings = (
        Heading(factor_label(curve.factor)),
        Heading("counted", figures=True, wide_only=True),
        Heading("rate", figures=True),
        Heading(f"{level} interval", figures=True),
        Heading("", drawn=True),
    )
    rows: list[list[str | Cell]] = [
        [
            level_label(curve.factor, point.level),
            count_short(measure, point.count, point.exposure, millions="million"),
            rate_short(measure, point.rate),
            interval_short(measure, point.interval),
            "█" * max(round(point.rate / top * BAR_WIDTH), 1),
        ]
        for point in curve.points
    ]
    return table(caption, headings, rows)


def _levels(result: FactorsResult) -> Table:
    headings = (
        Heading("Factor"),
        Heading("Level"),
        Heading("Counted", figures=True, wide_only=True),
        Heading("All jobs", figures=True, wide_only=True),
        Heading("Like jobs", figures=True),
        Heading(f"{percent(result.level, 0)} interval", figures=True, wide_only=True),
        Heading("Times the others'", figures=True),
        Heading("Evidence"),
    )
    caption = f"The evidence: all {len(result.effects)} levels that were looked at"
    return table(caption, headings, [_level(result, each) for each in result.effects], folded=True)


def _level(result: FactorsResult, each: FactorEffect) -> list[str | Cell]:
    adjusted, measure = each.adjusted, result.kind.measure
    return [
        each.factor_label,
        each.level_label,
        count_short(measure, adjusted.count, adjusted.exposure, millions="million"),
        rate_short(measure, adjusted.crude_rate),
        rate_short(measure, adjusted.rate),
        interval_short(measure, adjusted.rate_interval),
        _ratio(each),
        EVIDENCE[each.evidence],
    ]
