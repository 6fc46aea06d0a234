"""The parts of the page that plans a setup: the answer, the evidence."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import urlencode

import streamlit as st

from dashboards.narrowing import Narrowing
from dashboards.showing import plain_markdown, show_figure
from dashboards.tables import download_figures
from logbook.questions.advice import figure as drawing
from logbook.questions.advice.job import Job
from logbook.questions.advice.result import AdviceResult
from logbook.questions.advice.suggestion import Suggestion
from logbook.questions.advice.words import HOW_TOLD, headline, now
from logbook.questions.trials.wishes import CHANGEABLE

SHOWN_AT_ONCE = 3


def answer(result: AdviceResult) -> None:
    """Say what to change first, and what the setup now is expected to do."""
    st.markdown(f"##### {plain_markdown(headline(result))}")
    st.markdown(plain_markdown(now(result)))


def suggestions(result: AdviceResult, narrowing: Narrowing) -> None:
    """Draw the savings, then say each suggestion with what to mind."""
    if not result.suggestions:
        return
    show_figure(drawing.draw, result, key=narrowing.file_name("savings"))
    st.caption(f"{HOW_TOLD} It is drawn hollow.")
    download_figures(result.table(), name=narrowing.file_name("suggestions"))
    for caution in repeated_cautions(result):
        st.markdown(f"Mind for all of them: {plain_markdown(caution)}")
    once = repeated_cautions(result)
    said = list(enumerate(zip(result.suggestions, result.lines(), strict=True), start=1))
    for place, (each, line) in said[:SHOWN_AT_ONCE]:
        _one(each, line, place, once, result.job)
    if len(said) > SHOWN_AT_ONCE:
        with st.expander(f"{len(said) - SHOWN_AT_ONCE} more"):
            for place, (each, line) in said[SHOWN_AT_ONCE:]:
                _one(each, line, place, once, result.job)


def repeated_cautions(result: AdviceResult) -> tuple[str, ...]:
    """Cautions that every suggestion would repeat, where there are several."""
    first, *others = result.suggestions
    return tuple(
        caution
        for caution in first.cautions
        if others and all(caution in each.cautions for each in others)
    )


def rules(result: AdviceResult) -> None:
    """Say what common practice says of the setup now, and what the record says of that."""
    if not result.rules:
        return
    st.subheader("Common practice, and your record")
    for each in result.rules:
        rule = each.rule
        says = f"Where {rule.if_text}: {rule.then_text} ({rule.status}; {rule.source})"
        st.markdown(f"- {plain_markdown(says)}  \n  {plain_markdown(each.record)}")


def _one(each: Suggestion, line: str, place: int, said_once: Sequence[str], job: Job) -> None:
    st.markdown(f"**{place}.** {plain_markdown(line)}")
    own = [caution for caution in each.cautions if caution not in said_once]
    if own:
        st.markdown("\n".join(f"    - Mind: {plain_markdown(caution)}" for caution in own))
    if each.trial is None:
        return
    if each.trial.too_long:
        st.caption(plain_markdown(each.trial.finding()))
        return
    with st.popover(f"A fair trial of suggestion {place}"):
        st.markdown(plain_markdown(each.trial.finding()))
        st.markdown(
            "\n".join(
                f"{number}. {plain_markdown(step)}"
                for number, step in enumerate(each.trial.instructions, start=1)
            )
        )
        st.markdown(plain_markdown(each.trial.order_words()))
        for note in each.trial.notes:
            st.caption(plain_markdown(note))
        if (address := _trial_address(each, job.fabric, job.design)) is not None:
            st.markdown(f"[Plan it on Trials, and keep it]({address})")


def _trial_address(each: Suggestion, fabric: str, design: str | None) -> str | None:
    """Where the trial of one change can be kept; None where several change, or a band of values."""
    [*rest, change] = each.changes
    if rest or change.factor not in CHANGEABLE or None in (change.before, change.after):
        return None
    told = {"fabric": fabric, "design": design, "factor": change.factor}
    told |= {"before": change.before, "after": change.after}
    return "/trials?" + urlencode({name: value for name, value in told.items() if value})
