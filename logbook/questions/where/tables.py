"""Levels side by side: like for like, and as it was paid."""

from __future__ import annotations

import math
from collections.abc import Sequence
from urllib.parse import urlencode

from logbook.questions.table import Cell, Heading, Table, Tone, table
from logbook.questions.where.result import Level, WhereResult
from logbook.questions.where.words import about
from logbook.short_figures import money_or_not_known
from logbook.wording import number, percent, percent_interval, times_interval

SHOWN = 30
"""Levels past these are gathered; the downloaded figures and --json have them all."""
FEWEST = 1.0
"""Where less than this was seen and expected, a level says nothing by itself."""


def tables(result: WhereResult) -> tuple[Table, ...]:
    """One row a level, most money above expectation first; small ones gathered at the end."""
    if not result.levels:
        return ()
    shown, rest = gathered(result)
    money = "" if result.of_money else f", {result.currency}"
    headings = (
        Heading(result.by_label.capitalize()),
        Heading("runs", figures=True, wide_only=True),
        Heading("pieces", figures=True, wide_only=True),
        Heading(f"seen{'' if not result.of_money else f', {result.currency}'}", figures=True),
        Heading("expected", figures=True),
        Heading("times", figures=True),
        Heading("95 % interval", figures=True, wide_only=True),
        Heading("chance above", figures=True, wide_only=True),
        Heading(f"lost above it{money}", figures=True),
        Heading(f"paid in all{money}", figures=True, wide_only=True),
        Heading("share", figures=True, wide_only=True),
    )
    rows: list[list[str | Cell]] = [_row(result, each) for each in shown]
    if rest:
        rows.append(_gathered_row(result, rest))
    caption = f"{about(result).capitalize()} by {result.by_label}"
    legend = (
        "seen, expected, times: like for like, drawn towards 1 as far as luck explains it; paid: "
        "as it was"
    )
    main = table(caption, headings, rows, legend=legend)
    return tuple(each for each in (main, _spoilage(result, shown)) if each is not None)


def gathered(result: WhereResult) -> tuple[Sequence[Level], Sequence[Level]]:
    """Levels that get a row, and those that share one."""
    telling = [
        each for each in result.levels if result.of_money or each.observed + each.expected >= FEWEST
    ]
    if len(telling) > SHOWN:
        # Both ends tell something; the middle is as was to be expected.
        ends = SHOWN // 3
        telling = [*telling[: SHOWN - ends], *telling[-ends:]]
    kept = {id(each) for each in telling}
    return telling, [each for each in result.levels if id(each) not in kept]


def runs_behind(result: WhereResult, level: Level) -> str:
    """The address of the runs page with the runs of a level; empty where it cannot name them."""
    if any(value is None for value in level.level.values()):
        return ""
    told = {name: _in_address(value) for name, value in level.level.items()}
    told |= {"since": result.since.isoformat(), "until": result.until.isoformat()}
    if result.kind is not None and level.observed > 0:
        told["showing"] = result.kind.name
    return f"runs?{urlencode(told)}"


def _in_address(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def _row(result: WhereResult, each: Level) -> list[str | Cell]:
    tone: Tone = "alarm" if each.above else "relief" if each.below else ""
    doubt = times_interval(each.interval)
    return [
        Cell(
            each.short_name if result.by else each.name,
            narrow=(f"{doubt} times", f"{number(each.pieces_inspected)} pieces"),
            address=runs_behind(result, each),
        ),
        number(each.runs),
        number(each.pieces_inspected),
        _amount(result, each.observed),
        _amount(result, each.expected),
        Cell(f"{each.shrunk_ratio:.2f}", tone),
        doubt,
        percent(each.chance_above, 0),
        Cell(money_or_not_known(each.money_above), tone),
        money_or_not_known(each.money),
        percent(each.share_of_money, 0),
    ]


def _gathered_row(result: WhereResult, rest: Sequence[Level]) -> list[str | Cell]:
    seen, due = (math.fsum(getattr(e, name) for e in rest) for name in ("observed", "expected"))
    above, paid = (
        math.fsum(value for e in rest if not math.isnan(value := getattr(e, name)))
        for name in ("money_above", "money")
    )
    whole = result.total.money
    return [
        f"{number(len(rest))} others together",
        number(sum(each.runs for each in rest)),
        number(sum(each.pieces_inspected for each in rest)),
        _amount(result, seen),
        _amount(result, due),
        f"{seen / due:.2f}" if due > 0 else "",
        "",
        "",
        money_or_not_known(above) if result.priced else "not known",
        money_or_not_known(paid) if result.priced else "not known",
        percent(paid / whole, 0) if whole > 0 else "",
    ]


def _amount(result: WhereResult, value: float) -> str:
    if result.of_money:
        return f"{value:,.0f}"
    return number(value) if value >= 10 or float(value).is_integer() else f"{value:.1f}"


def _spoilage(result: WhereResult, shown: Sequence[Level]) -> Table | None:
    """What was spoiled beside what may be, and what a thousand stitches came to."""
    told = [each for each in shown if each.spoilage and each.spoilage.pieces_sewn]
    if not told:
        return None
    allowances = any(each.spoilage and each.spoilage.allowed is not None for each in told)
    timed = any(not math.isnan(each.cost_per_1000_stitches) for each in told)
    headings = [
        Heading(result.by_label.capitalize()),
        Heading("pieces sewn", figures=True, wide_only=True),
        Heading("spoiled", figures=True),
        Heading("share", figures=True),
        Heading("95 % interval", figures=True, wide_only=True),
    ]
    if allowances:
        headings += [Heading("allowed", figures=True), Heading("pieces over", figures=True)]
    if timed:
        headings.append(Heading(f"1,000 stitches cost, {result.currency}", figures=True))
    rows = [_spoilage_row(each, allowances=allowances, timed=timed) for each in told]
    caption = "Spoiled against what is allowed" if allowances else "What was spoiled"
    if timed:
        caption += ", and what a thousand stitches cost"
    return table(caption, headings, rows, folded="customer" not in result.by)


def _spoilage_row(each: Level, *, allowances: bool, timed: bool) -> list[str | Cell]:
    its = each.spoilage
    assert its is not None
    row: list[str | Cell] = [
        each.short_name,
        number(its.pieces_sewn),
        number(its.spoiled),
        percent(its.rate),
        percent_interval(its.interval),
    ]
    if allowances:
        surely = its.allowed is not None and its.interval[0] > its.allowed
        row += [
            "" if its.allowed is None else percent(its.allowed),
            "" if math.isnan(its.over) else Cell(f"{its.over:+.1f}", "alarm" if surely else ""),
        ]
    if timed:
        row.append(money_or_not_known(each.cost_per_1000_stitches))
    return row
