"""The parts of the page that plans a setup: the job asked for, the answer, the evidence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import streamlit as st

from dashboards.narrowing import Narrowing
from dashboards.showing import plain_markdown, remembered, show_figure
from dashboards.tables import download_figures
from logbook.questions.advice import figure as drawing
from logbook.questions.advice.analyse import AdviceResult, Suggestion
from logbook.questions.advice.sentences import HOW_TOLD
from logbook.store import Store
from logbook.vocabulary.backings import BACKING_SHADES, BACKINGS
from logbook.vocabulary.choices import ChoiceList
from logbook.vocabulary.fabrics import FABRIC_SHADES
from logbook.vocabulary.hoopings import HOOPINGS
from logbook.vocabulary.needles import NEEDLE_POINTS
from logbook.vocabulary.toppings import TOPPINGS
from logbook.wording import number, percent, percent_interval

LISTS: tuple[ChoiceList, ...] = (BACKINGS, BACKING_SHADES, TOPPINGS, HOOPINGS, NEEDLE_POINTS)
USUAL = ""
SHOWN_AT_ONCE = 3
_USUAL_WORDS = "As usual"


@dataclass(frozen=True, slots=True)
class Asked:
    """The job as chosen on the page."""

    fabric: str
    design: str | None
    density: float | None
    fabric_shade: str | None
    setup: Mapping[str, str]


def asked_for(store: Store, fabrics: Sequence[str]) -> Asked:
    """Ask for the job; what is left as usual is filled from the record."""
    first, second, third = st.columns(3)
    fabric = first.selectbox("Fabric", fabrics, index=remembered("fabric", fabrics))
    designs = [USUAL, *store.known("design")]
    design = second.selectbox(
        "Design",
        designs,
        index=remembered("design", designs),
        format_func=lambda name: name or "Any design",
    )
    shade = _choice(third, FABRIC_SHADES, usual="Any shade")
    setup: dict[str, str] = {}
    with st.expander("The setup now, where it is not your usual one", expanded=_told_in_address()):
        columns = st.columns(3)
        for place, choices in enumerate(LISTS):
            if word := _choice(columns[place % 3], choices):
                setup[choices.column] = word
        suppliers = [USUAL, *store.known("backing_supplier")]
        supplier = columns[2].selectbox(
            "Backing supplier",
            suppliers,
            index=remembered("backing_supplier", suppliers),
            format_func=lambda name: name or _USUAL_WORDS,
        )
        if supplier:
            setup["backing_supplier"] = supplier
    return Asked(str(fabric), design or None, None, shade or None, setup)


def in_address(asked: Asked) -> dict[str, str]:
    """What the address keeps, so that the view can be sent to a colleague."""
    named = {"fabric": asked.fabric, "design": asked.design, "fabric_shade": asked.fabric_shade}
    return {name: word for name, word in named.items() if word} | dict(asked.setup)


def answer(result: AdviceResult) -> None:
    """Say what to change first, and what the setup now is expected to do."""
    st.markdown(f"##### {plain_markdown(result.finding())}")
    words = ", ".join(
        f"{label.lower()} {word}" for label, word in result.setup_words() if word != "not recorded"
    )
    now = (
        f"Now: {words}. Expected: {percent(result.expected_rate)} of pieces with a defect "
        f"({percent(result.level, 0)} interval {percent_interval(result.interval)}), resting on "
        f"{number(result.pieces)} pieces in {number(result.runs)} like runs."
    )
    st.markdown(plain_markdown(now))


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
        _one(each, line, place, once)
    if len(said) > SHOWN_AT_ONCE:
        with st.expander(f"{len(said) - SHOWN_AT_ONCE} more"):
            for place, (each, line) in said[SHOWN_AT_ONCE:]:
                _one(each, line, place, once)


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


def doubts(result: AdviceResult) -> None:
    """Open what to keep in mind."""
    with st.expander("What to keep in mind"):
        for note in result.notes:
            st.markdown(plain_markdown(note))


def _one(each: Suggestion, line: str, place: int, said_once: Sequence[str]) -> None:
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
        for note in each.trial.notes:
            st.caption(plain_markdown(note))


def _choice(
    place: st.delta_generator.DeltaGenerator, choices: ChoiceList, usual: str = _USUAL_WORDS
) -> str:
    values = [USUAL, *choices.values]
    chosen = place.selectbox(
        choices.label,
        values,
        index=remembered(choices.column, values),
        format_func=lambda word: choices.label_of(word) if word else usual,
    )
    return str(chosen)


def _told_in_address() -> bool:
    columns = {choices.column for choices in LISTS} | {"backing_supplier"}
    return any(name in st.query_params for name in columns)
