"""The command that measures a stitch file."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.options import AsJson
from logbook.cli.terminal import console, plainly, print_json

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from logbook.stitches import Measurement

BAR_WIDTH = 40


@plainly
def measure(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A stitch file.")],
    as_json: AsJson = False,
) -> None:
    """Measure a stitch file: stitches, size, thread, and where it is densest."""
    from logbook.stitches import measure_file  # late: heavy

    result = measure_file(file)
    if as_json:
        print_json(result.as_json())
    else:
        _show(console(), result)


def _show(screen: Console, result: Measurement) -> None:
    from rich.markup import escape  # late: see above

    screen.print(f"[bold]{escape(result.design.file_name)}: {escape(result.finding())}[/]\n")
    screen.print(_figures(result))
    screen.print()
    screen.print(_shares("Density around each place", "of the sewn area", _bands(result)))
    screen.print()
    screen.print(_shares("Length of stitches", "of the stitches", _lengths(result)))
    for note in result.notes:
        screen.print(f"note: {note}", style="dim", markup=False)


def _figures(result: Measurement) -> Table:
    from rich.table import Table  # late: see above

    from logbook.wording import number

    trims = "not recorded" if result.trims is None else number(result.trims)
    if result.trims is not None and result.design.trims.value == "inferred":
        trims += " (inferred)"
    table = Table(box=None, show_header=False, pad_edge=False)
    for name, value in (
        ("Jumps", number(result.jumps)),
        ("Trims", trims),
        ("Colour changes", number(result.colour_changes)),
        ("Thread on the face", f"{result.thread_length_m:,.1f} m"),
        ("Sewn area", f"{result.sewn_area_cm2:,.1f} cm²"),
        ("Layers of thread", f"{result.layers:.1f}, {result.densest_layers:.1f} where densest"),
        (
            "Stitch length",
            f"{result.lengths.median_mm:.1f} mm in the middle, {result.lengths.longest_mm:.1f} mm "
            "the longest",
        ),
    ):
        table.add_row(name, value)
    return table


def _bands(result: Measurement) -> list[tuple[str, float, str]]:
    return [(band.label, band.share, "") for band in result.bands]


def _lengths(result: Measurement) -> list[tuple[str, float, str]]:
    from logbook.stitches.measured import LENGTH_EDGES_MM  # late: see above
    from logbook.wording import number

    counts = result.lengths.counts
    whole = max(sum(counts), 1)
    names = [f"{low:g} to {high:g} mm" for low, high in pairwise(LENGTH_EDGES_MM)]
    names.append(f"{LENGTH_EDGES_MM[-1]:g} mm and longer")
    return [
        (name, count / whole, number(count))
        for name, count in zip(names, counts, strict=True)
        if count
    ]


def _shares(heading: str, of: str, rows: list[tuple[str, float, str]]) -> Table:
    from rich.table import Table  # late: see above

    from logbook.wording import percent

    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column(heading)
    counted = any(count for _, _, count in rows)
    if counted:
        table.add_column("stitches", justify="right")
    table.add_column(of, justify="right")
    table.add_column("")
    for name, share, count in rows:
        cells = [name, count] if counted else [name]
        table.add_row(*cells, percent(share, 0), "█" * round(share * BAR_WIDTH))
    return table
