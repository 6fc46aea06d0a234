"""Trials planned, judged and ended in a book, as every face does it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logbook.book.trials import end_trial, write_trial
from logbook.questions.trials.asking import judged_trial
from logbook.questions.trials.planning import PlannedTrial, plan_trial
from logbook.questions.trials.result import TrialJudged
from logbook.questions.trials.wishes import TrialWish
from logbook.questions.trials.words import verdict_words
from logbook.runs.trials import KeptTrial
from logbook.store import Store


def plan_and_keep(
    store: Store, scope: Mapping[str, Any], *, source: str, keep: bool = True, **wanted: Any
) -> tuple[PlannedTrial, KeptTrial | None]:
    """Draw a trial up and keep it, where it can decide.

    Parameters
    ----------
    scope
        On which work.
    source
        Where it came from.
    keep
        Whether it is written down.
    **wanted
        As in :class:`logbook.questions.trials.wishes.TrialWish`.

    Raises
    ------
    ParameterError, RecordError, AnalysisError
        As :func:`logbook.questions.trials.planning.plan_trial`.
    """
    planned = plan_trial(store, TrialWish(scope=scope, **wanted))
    kept = None
    if keep and planned.trial is not None:
        kept = write_trial(store, planned.trial, source=source)
    return planned, kept


def judge_and_end(
    store: Store, seen: KeptTrial, *, why: str | None, source: str
) -> tuple[KeptTrial, TrialJudged]:
    """Judge a trial as it stands and end it with that verdict.

    Raises
    ------
    RecordError, DocumentChanged
        As :func:`logbook.book.trials.end_trial`.
    """
    judged = judged_trial(store, seen)
    says = verdict_words(judged, store.shop.currency)
    kept = end_trial(store, seen, why=why, verdict=judged.verdict, says=says, source=source)
    return kept, judged
