"""A forecast in words."""

from __future__ import annotations

from logbook.questions.forecast.result import CHANCE, ForecastResult
from logbook.runs.factors import factor_label, level_label
from logbook.wording import number, so_many

FEW_RUNS = 10
MINUTES_AN_HOUR = 60


def title(result: ForecastResult) -> str:
    """Say for what order."""
    design = f", design {result.job.design}" if result.job.design else ""
    return f"an order of {number(result.pieces)} on {result.job.fabric}{design}"


def headline(result: ForecastResult) -> str:
    """Say how many to order, and how long it runs."""
    if result.order is None:
        return (
            f"Too much is spoiled on {result.job.fabric} for any number of pieces to make "
            f"{number(result.pieces)} good ones likely: change the setup first."
        )
    runs_for = f", about {duration(result.minutes)} of sewing" if result.minutes else ""
    return (
        f"Order {number(result.order)} pieces for {number(result.pieces)} good ones"
        f"{runs_for}: enough {round(100 * CHANCE)} times in 100."
    )


def pressing(result: ForecastResult) -> tuple[str, ...]:
    """Say where it rests on little."""
    if result.runs >= FEW_RUNS:
        return ()
    return (f"It rests on {so_many(result.runs, 'run')} on this fabric only.",)


def sentences(result: ForecastResult) -> tuple[str, ...]:
    """What is lost, reworked and seen."""
    lost = result.lost
    said = [
        f"Lost: {_about(lost.expected)}; {round(100 * CHANCE)} times in 100 between "
        f"{number(lost.lower)} and {number(lost.upper)}."
    ]
    if result.rework is not None and result.rework_minutes is not None:
        said.append(f"Reworked: {_about(result.rework)}, {duration(result.rework_minutes)} of it.")
    said.append(
        f"It rests on {so_many(result.runs, 'run')} and "
        f"{so_many(result.pieces_inspected, 'piece')} inspected on {result.job.fabric}"
        + (f", {number(result.design_runs)} of them of this design." if result.job.design else ".")
    )
    return tuple(said)


def notes(result: ForecastResult) -> tuple[str, ...]:
    """What to keep in mind."""
    said = list(result.notes)
    assumed = [
        f"{factor_label(name).lower()} {level_label(name, word)}"
        for name, word in result.job.setup.items()
        if name not in result.job.given and word is not None
    ]
    if assumed:
        said.append(f"Not told, so taken as is usual: {', '.join(assumed)}.")
    said.append(
        "Lot, month and whoever sews it are not known yet: how far these lie apart is in the "
        "interval. Pieces that come in faulty from the mill are not; order for them too."
    )
    if not result.modelled:
        said.append(
            "Too few pieces were spoiled to allow for job and setup: it is the share of the whole "
            "record."
        )
    if result.minutes is None:
        said.append("No like run says how long it took: write run_minutes down.")
    if result.rework is None:
        said.append("No run says how many pieces were reworked.")
    return tuple(said)


def duration(minutes: float) -> str:
    """Say a time: ``45 minutes``, ``6 h 10 min``."""
    whole = round(minutes)
    if whole < 2 * MINUTES_AN_HOUR:
        return so_many(whole, "minute")
    return f"{whole // MINUTES_AN_HOUR:,} h {whole % MINUTES_AN_HOUR:02d} min"


def _about(pieces: float) -> str:
    if pieces < 1:
        return "less than one piece"
    whole = round(pieces)
    return f"about {so_many(whole, 'piece')}"
