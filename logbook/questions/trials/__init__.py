"""A fair trial of one change: how those of the book stand, and what one of them says."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from logbook.questions.parameters import Metavar, Offered, Parameters
from logbook.questions.question import Question

if TYPE_CHECKING:
    from logbook.questions.trials.result import TrialsResult
    from logbook.store import Store


def _trials(store: Store) -> Mapping[str, str]:
    from logbook.book.trials import trials  # late: not needed for --help

    return {each.ref: f"{each.ref}: {each.trial.title}" for each in trials(store)[::-1]}


def _trial_understood(store: Store, text: str) -> str:
    from logbook.book.trials import trials  # late: as above
    from logbook.errors import VocabularyError

    known = [each.ref for each in trials(store)]
    for ref in known:
        if ref.casefold() == text.strip().casefold():
            return ref
    named = ", ".join(known) or "none is kept yet"
    raise VocabularyError(f"trial {text!r} is not known; the trials are: {named}")


class TrialParameters(Parameters):
    """Which trial to judge."""

    trial: Annotated[
        str | None,
        Field(title="Trial", description="Which one to judge; else the only one that is running."),
        Metavar("REF"),
        Offered(_trials, unset="The one that is running", understood=_trial_understood),
    ] = None


def ask(store: Store, parameters: TrialParameters) -> TrialsResult:
    """Say how the trials of the book stand, and judge one of them.

    Raises
    ------
    DocumentNotFound
        There is no trial of that reference.
    """
    from logbook.questions.trials.asking import how_trials_stand  # late: not needed for --help

    return how_trials_stand(store, parameters.trial)


QUESTION = Question(
    name="trials",
    title="Trials",
    help="Say how the trials of the book stand, and judge one of them.",
    asks="How do the trials stand, and what does one of them say?",
    parameters=TrialParameters,
    ask=ask,
    room=__name__,
    as_command=False,
    waiting="Judging the pairs…",
    when_empty="Once runs are logged, a fair trial of one change can be planned here.",
)
