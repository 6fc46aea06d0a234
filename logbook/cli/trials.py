"""The commands about fair trials: plan, start, judge, end, list."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from logbook.cli.options import AsJson, open_named
from logbook.cli.terminal import console, plainly, print_json

if TYPE_CHECKING:
    from logbook.questions.trials.planning import PlannedTrial
    from logbook.runs.trials import KeptTrial
    from logbook.store import Store

# Everything heavier than typer is imported inside the commands, so that --help answers at once.

SOURCE = "command line"
application = typer.Typer(
    help="A fair trial of one change, kept in the book.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
Ref = Annotated[
    str | None, typer.Argument(metavar="[REF]", help="Which trial; else the only one open.")
]
Html = Annotated[
    Path | None, typer.Option("--html", metavar="FILE", help="Also write the card to print.")
]


@application.command()
@plainly
def plan(
    context: typer.Context,
    change: Annotated[
        list[str] | None,
        typer.Argument(metavar="[FACTOR FROM TO]", help="Such as: topping none film."),
    ] = None,
    fabric: Annotated[str | None, typer.Option("--fabric", help="On which fabric.")] = None,
    design: Annotated[str | None, typer.Option("--design", help="One design only.")] = None,
    job: Annotated[str | None, typer.Option("--job", help="One job only.")] = None,
    machine: Annotated[str | None, typer.Option("--machine", help="One machine only.")] = None,
    fabric_shade: Annotated[
        str | None, typer.Option("--fabric-shade", help="One shade only.")
    ] = None,
    suggestion: Annotated[
        int | None,
        typer.Option("--suggestion", metavar="N", help="Try the N-th suggestion of advise."),
    ] = None,
    defect: Annotated[
        str, typer.Option("--defect", metavar="KIND|any", help="Which defect decides.")
    ] = "any",
    pieces: Annotated[
        int | None, typer.Option("--pieces", min=1, help="Pieces of a load; else half a run.")
    ] = None,
    smallest: Annotated[
        float | None,
        typer.Option("--smallest", metavar="POINTS", help="Smallest fall worth having, points."),
    ] = None,
    worth: Annotated[
        float | None,
        typer.Option("--worth", metavar="MONEY", help="Or the money it must save in 100 pieces."),
    ] = None,
    power: Annotated[float, typer.Option("--power", help="Chance of finding it.")] = 0.8,
    alpha: Annotated[float, typer.Option("--alpha", help="Chance of a false alarm.")] = 0.05,
    seed: Annotated[
        int | None, typer.Option("--seed", min=0, help="Draw the order from this number.")
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Say what it would take; keep nothing.")
    ] = False,
    address: Annotated[
        str | None, typer.Option("--address", metavar="URL", help="Of the form, for the QR code.")
    ] = None,
    html: Html = None,
    as_json: AsJson = False,
) -> None:
    """Draw up a trial: pairs, pieces, a drawn order, and what it can find."""
    if change and len(change) != 3:
        raise typer.BadParameter("say FACTOR FROM TO, such as: topping none film")
    factor, before, after = change or (None, None, None)
    told = {"fabric": fabric, "design": design, "job": job, "machine": machine,
            "fabric_shade": fabric_shade}  # fmt: skip
    wanted = {
        "factor": factor, "before": before, "after": after, "suggestion": suggestion,
        "defect": defect, "pieces_per_arm": pieces, "worth": worth, "power": power,
        "smallest_difference": None if smallest is None else smallest / 100,
        "alpha": alpha, "seed": seed,
    }  # fmt: skip
    with open_named(context) as store:
        planned, kept = _planned(store, told, wanted, keep=not dry_run)
        if html is not None and kept is not None:
            _write_card(store, html, kept, address)
        _say_plan(planned, kept, as_json=as_json)


def _planned(
    store: Store, told: dict[str, Any], wanted: dict[str, Any], *, keep: bool
) -> tuple[PlannedTrial, KeptTrial | None]:
    from logbook.errors import ParameterError
    from logbook.questions.trials.keeping import plan_and_keep

    try:
        return plan_and_keep(store, told, source=SOURCE, keep=keep, **wanted)
    except ParameterError as problem:
        hint = f". {problem.hint}" if problem.hint else ""
        raise typer.BadParameter("; ".join(problem.reasons.values()) + hint) from problem


def _say_plan(planned: PlannedTrial, kept: KeptTrial | None, *, as_json: bool) -> None:
    from logbook.questions.trials.plan_words import (
        cautions,
        finding,
        instructions,
        plan_json,
        plan_notes,
    )

    if as_json:
        print_json({**plan_json(planned, kept)})
        return
    screen = console()

    def say(text: str) -> None:
        screen.print(text, markup=False, soft_wrap=True)

    trial = planned.trial
    say(finding(planned) if kept is None else f"{kept.ref}: {finding(planned)}")
    if trial is not None:
        for place, step in enumerate(instructions(trial), start=1):
            say(f"{place}. {step}")
        say(f"First in each pair (seed {trial.seed}): {', '.join(trial.first)}")
        for caution in cautions(trial):
            say(f"Caution: {caution}")
    for note in plan_notes(planned):
        say(f"note: {note}")
    if kept is not None:
        say(f"It is kept as {kept.ref}. Start it with: logbook trial start {kept.ref}")


def _write_card(store: Store, path: Path, kept: KeptTrial, address: str | None) -> None:
    from logbook.report.trial_card import write_card

    write_card(path, kept, shop=store.shop, address=address)


@application.command()
@plainly
def start(context: typer.Context, ref: Ref = None, as_json: AsJson = False) -> None:
    """Start a planned trial: from now on the form offers its loads."""
    from logbook.book.trials import start_trial, trial_named
    from logbook.questions.trials.result import trial_json

    with open_named(context) as store:
        kept = start_trial(store, trial_named(store, ref), source=SOURCE)
    if as_json:
        print_json({**trial_json(kept), "notes": []})
        return
    first = kept.trial.arm_words(kept.trial.first[0])
    line = f"{kept.ref} is running. First load: {kept.trial.pieces_per_arm} pieces. {first}"
    console().print(line, markup=False, soft_wrap=True)


@application.command()
@plainly
def judge(
    context: typer.Context, ref: Ref = None, html: Html = None, as_json: AsJson = False
) -> None:
    """Say what a trial says so far: take it, leave it, cannot tell."""
    from logbook.book.trials import trial_named
    from logbook.questions import QUESTIONS

    with open_named(context) as store:
        named = trial_named(store, ref).ref
        answer = QUESTIONS["trials"].asked(store, trial=named)
    if html is not None:
        from logbook.report import write_answer

        write_answer(html, answer)
    if as_json:
        told = answer.as_json()
        print_json({**told["judged"], "finding": told["finding"], "notes": told["notes"]})
        return
    from logbook.cli.render import show_answer

    show_answer(console(), answer)


@application.command()
@plainly
def end(
    context: typer.Context,
    ref: Ref = None,
    why: Annotated[str | None, typer.Option("--why", help="What is to be said of it.")] = None,
    as_json: AsJson = False,
) -> None:
    """End a trial, and keep what it was judged to be."""
    from logbook.book.trials import trial_named
    from logbook.questions.trials.keeping import judge_and_end
    from logbook.questions.trials.result import trial_json

    with open_named(context) as store:
        kept, judged = judge_and_end(store, trial_named(store, ref), why=why, source=SOURCE)
    if as_json:
        print_json({**judged.as_json(), **trial_json(kept), "finding": kept.trial.says,
                    "notes": []})  # fmt: skip
    else:
        console().print(f"{kept.ref} has ended. {kept.trial.says}", markup=False, soft_wrap=True)


@application.command("list")
@plainly
def list_(context: typer.Context, as_json: AsJson = False) -> None:
    """List the trials of the book."""
    from logbook.book.trials import trials
    from logbook.questions.trials.result import trial_json

    with open_named(context) as store:
        found = trials(store)
    if as_json:
        print_json({"trials": [trial_json(each) for each in found], "notes": []})
    elif not found:
        console().print("No trial is kept in this book.")
    for each in () if as_json else found:
        came = f"  {each.trial.says}" if each.trial.says else ""
        line = f"{each.ref}  {each.trial.state}  {each.trial.title}{came}"
        console().print(line, markup=False, soft_wrap=True)
