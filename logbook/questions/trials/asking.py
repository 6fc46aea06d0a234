"""Trials asked of an open book: the one that is meant, with its runs, judged."""

from __future__ import annotations

from logbook.book.trials import running_trials, trial_named, trials
from logbook.questions.trials.analyse import analyse
from logbook.questions.trials.result import TrialJudged, TrialsResult
from logbook.runs.trials import KeptTrial
from logbook.store import Store, Window
from logbook.vocabulary.defects import ANY


def how_trials_stand(store: Store, ref: str | None) -> TrialsResult:
    """Every trial, and the one named judged; without a name the only one that is running.

    Raises
    ------
    DocumentNotFound
        There is no trial of that reference.
    """
    kept = trials(store)
    meant: KeptTrial | None = None
    if ref is not None:
        meant = trial_named(store, ref)
    elif len(running := running_trials(store)) == 1:
        meant = running[0]
    judged = None if meant is None else judged_trial(store, meant)
    return TrialsResult(kept, judged, store.shop.currency)


def judged_trial(store: Store, kept: KeptTrial) -> TrialJudged:
    """Judge one trial by the runs that carry it."""
    window = Window(where={"trial": kept.ref})
    names = (ANY.name, *(each.name for each in store.shop.kinds))
    cells = store.cells(names, by=("run_ref",), window=window)
    return analyse(store.runs(window).to_dicts(), cells, kept=kept, shop=store.shop)
