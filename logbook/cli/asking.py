"""Commands that ask the record: review, chart, suppliers."""

from __future__ import annotations

from enum import Enum
from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.options import AsJson, Since, Site, Until, amount, kind_named, open_named, window
from logbook.cli.terminal import console, plainly, print_json

# Everything heavier than typer is imported inside the commands, so that --help answers at once.


class By(str, Enum):  # noqa: UP042 - StrEnum would change what typer shows
    """How runs are grouped on a chart."""

    RUN = "run"
    DAY = "day"
    WEEK = "week"
    MONTH = "month"


class Spread(str, Enum):  # noqa: UP042 - as above
    """Which limits a chart uses."""

    AUTO = "auto"
    PLAIN = "plain"
    LANEY = "laney"


@plainly
def review(
    context: typer.Context,
    week: Annotated[
        str | None,
        typer.Option("--week", metavar="WEEK", help="Such as 2026-W40; else the last with runs."),
    ] = None,
    html: Annotated[
        Path | None,
        typer.Option("--html", metavar="FILE", help="Also write the review as one page."),
    ] = None,
    site: Site = None,
    as_json: AsJson = False,
) -> None:
    """Review a week's defects: how much, more than usual or luck, what cost most."""
    from logbook.cli.reviewing import show_review
    from logbook.questions.asking import review_charts, weekly_review

    with open_named(context) as store:
        result = weekly_review(store, week=week, site=site)
        if html is not None:
            from logbook.report import write_review

            write_review(html, result, review_charts(store, result, site=site), store.shop)
        if as_json:
            print_json(result.as_json())
            return
        screen = console()
        show_review(screen, result, store.shop)
        if html is not None:
            screen.print(f"\nThe page is in {html}", markup=False, soft_wrap=True)


@plainly
def chart(
    context: typer.Context,
    defect: Annotated[
        str | None,
        typer.Option("--defect", metavar="KIND", help="Such as thread_breaks; without, a list."),
    ] = None,
    by: Annotated[By, typer.Option("--by", help="One point a run, day, week or month.")] = By.WEEK,
    spread: Annotated[
        Spread,
        typer.Option("--spread", help="auto widens the limits where runs really differ more."),
    ] = Spread.AUTO,
    baseline: Annotated[
        str | None,
        typer.Option(
            "--baseline",
            metavar="FROM..TO",
            help="Points that set the usual rate, such as 2026-W01..2026-W20.",
        ),
    ] = None,
    since: Since = None,
    until: Until = None,
    site: Site = None,
    as_json: AsJson = False,
) -> None:
    """Chart one defect over time, with limits and signals."""
    from logbook.cli.charting import show_chart
    from logbook.questions.asking import control_chart

    with open_named(context) as store:
        result = control_chart(
            store,
            kind=kind_named(store, defect, any_allowed=True),
            by=by.value,
            spread=spread.value,
            baseline=_between(baseline),
            window=window(since, until, site),
        )
    if as_json:
        print_json(result.as_json())
    else:
        show_chart(console(), result)


@plainly
def suppliers(
    context: typer.Context,
    defect: Annotated[
        str, typer.Option("--defect", metavar="KIND|any", help="Such as puckering, or any.")
    ] = "any",
    backing: Annotated[
        str | None, typer.Option("--backing", metavar="TYPE", help="One backing type only.")
    ] = None,
    reference: Annotated[
        str | None,
        typer.Option("--reference", metavar="NAME", help="Supplier to compare the others with."),
    ] = None,
    margin: Annotated[
        float | None,
        typer.Option(
            "--margin",
            metavar="PP",
            parser=amount,
            help="Difference in 100 pieces that does not matter.",
        ),
    ] = None,
    since: Since = None,
    until: Until = None,
    site: Site = None,
    as_json: AsJson = False,
) -> None:
    """Compare backing suppliers by defect rate, like for like, and by cost."""
    from logbook.cli.comparing import show_suppliers
    from logbook.questions.asking import compare_suppliers

    with open_named(context) as store:
        result = compare_suppliers(
            store,
            kind=kind_named(store, defect, any_allowed=True),
            backing=_backing(backing),
            reference=reference,
            margin=None if margin is None else margin / 100,
            window=window(since, until, site),
        )
        if as_json:
            print_json(result.as_json())
        else:
            show_suppliers(console(), result, store.shop)


def _between(text: str | None) -> tuple[str, str] | None:
    if text is None:
        return None
    first, dots, last = text.partition("..")
    if not dots or not first or not last:
        raise typer.BadParameter(f"--baseline {text!r} is not FROM..TO, as 2026-W01..2026-W20")
    return first.strip(), last.strip()


def _backing(text: str | None) -> str | None:
    if text is None:
        return None
    from logbook.vocabulary.backings import BACKINGS

    value = BACKINGS.understand(text)
    if value is None:
        raise typer.BadParameter(
            f"--backing {text!r} is not known; the backings are {', '.join(BACKINGS.values)}"
        )
    return value
