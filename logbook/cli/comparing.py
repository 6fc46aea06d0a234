"""The supplier comparison in the terminal: the answer first, figures second."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from logbook.questions.suppliers.analyse import SupplierRow, SuppliersResult
from logbook.shop import Shop
from logbook.short_figures import ABSENT, interval_short, money_or_not_known, rate_short
from logbook.vocabulary.backings import BACKINGS
from logbook.wording import number, points

VERDICTS = {
    "better": "better",
    "worse": "worse",
    "no_worse": "no worse",
    "not_enough_data": "not enough yet",
    None: ABSENT,
}


def show_suppliers(screen: Console, result: SuppliersResult, shop: Shop) -> None:
    """Print the finding, a line a supplier, the table and what to keep in mind."""
    where = BACKINGS.label_of(result.backing) if result.backing else "all backings"
    screen.rule(
        f"[bold]{escape(shop.name)} · suppliers by {result.kind.label.lower()}[/] ({where})",
        align="left",
    )
    for headline in result.headlines():
        screen.print(Text(headline, style="bold"))
    for warning in result.pressing:
        screen.print(Text(f"Mind: {warning}", style="yellow"))
    screen.print()
    screen.print(_table(result))
    screen.print()
    for line in result.lines():
        screen.print(Padding(Text(f"• {line}"), (0, 0, 0, 2)))
    for note in (*result.warnings[len(result.pressing) :], *result.notes):
        screen.print(Text(f"note: {note}", style="dim"))


def _table(result: SuppliersResult) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column("Supplier")
    pieces = result.kind.measure == "pieces"
    for heading in ("runs", "lots", "counted", "all jobs", "on the same jobs", "95 % interval"):
        table.add_column(heading, justify="right")
    if result.fair_given:
        table.add_column("verdict")
    table.add_column(f"100 good pieces, {result.currency}", justify="right")
    for row in result.suppliers:
        exposure = number(row.counted.exposure) if pieces else f"{row.counted.exposure / 1e6:.1f} M"
        table.add_row(
            escape(row.supplier),
            number(row.counted.runs),
            number(row.lots),
            f"{number(row.counted.count)} of {exposure}",
            rate_short(result.kind.measure, row.crude_rate),
            *_difference(result, row),
            *((VERDICTS[row.fair.verdict],) if result.fair_given else ()),
            money_or_not_known(100 * result.good_piece(row.supplier)[0]),
        )
    return table


def _difference(result: SuppliersResult, row: SupplierRow) -> tuple[str, str]:
    if row.supplier == result.reference:
        return "reference", ""
    if row.check is None or row.check.jobs == 0:
        return "not comparable", ""
    fair, plain = row.fair, row.check.like_for_like
    estimate, interval = (
        (plain.estimate, plain.interval)
        if fair.verdict is None
        else (fair.difference, fair.difference_interval)
    )
    pieces = result.kind.measure == "pieces"
    said = points(estimate) if pieces else rate_short("events", estimate)
    sign = "+" if estimate > 0 else ""
    bounds = interval_short(result.kind.measure, interval).replace(" %", "")
    return f"{sign}{said}", bounds
