"""What became of a sheet, and the sheets that came in before, each of which can be taken back."""

from __future__ import annotations

import streamlit as st

from dashboards.shared import moment_words
from dashboards.showing import plain_markdown
from dashboards.tables import Heading, table
from logbook.book.bringing_in import Brought
from logbook.book.imports import Import, imports, take_back
from logbook.store import Store
from logbook.wording import number

SOURCE = "the page Bring in a sheet"
SHOWN = 12
HEADINGS = (
    Heading("File"),
    Heading("Came in"),
    Heading("Rows", figures=True, wide_only=True),
    Heading("Runs", figures=True),
    Heading("Taken back"),
)
_TOLD = "bring taken back"


def became(brought: Brought) -> None:
    """Say what is in the book now, what can be answered, and offer what was not taken."""
    outcome = brought.outcome
    runs = "1 new run is" if outcome.added == 1 else f"{number(outcome.added)} new runs are"
    there = f" {number(outcome.skipped)} were there already." if outcome.skipped else ""
    st.success(f"**{runs} in the book.**{there}")
    st.page_link("views/runs.py", label="See the runs")
    if brought.read_as:
        name = plain_markdown(brought.read_as)
        st.caption(f"Sheets like it come in without a question from now on (kept as {name}).")
    st.markdown("\n".join(f"- {plain_markdown(line)}" for line in brought.lines))
    if brought.rejects is not None:
        name, data = brought.rejects
        rows = "1 row was" if outcome.rejected == 1 else f"{number(outcome.rejected)} rows were"
        st.warning(f"{rows} not taken. Each says why: mend them and bring the file in again.")
        st.download_button(
            "Download the rows to mend", data, file_name=name, mime="text/csv", key="csv-rejects"
        )
    else:
        st.markdown("- Every row was taken.")


def earlier(store: Store) -> None:
    """List what came in, the last first, and offer to take one back whole."""
    if told := st.session_state.pop(_TOLD, None):
        st.success(plain_markdown(told))
    found = imports(store)[::-1]
    if not found:
        return
    st.subheader("What came in by file")
    table(HEADINGS, [_row(each) for each in found[:SHOWN]], caption="Files, the last first")
    standing = [each for each in found if not each.taken_back and each.added]
    if not standing:
        return
    with st.expander("Take one back"):
        st.caption("Every run that it added is withdrawn and stays in the history.")
        chosen = st.selectbox("Which file", standing, format_func=_named)
        if chosen is not None and st.button("Take this import back"):
            said, withdrawn = take_back(
                store, chosen.key, why="the import was taken back", source=SOURCE
            )
            runs = "1 run was" if withdrawn == 1 else f"{number(withdrawn)} runs were"
            st.session_state[_TOLD] = f"{said.file} was taken back: {runs} withdrawn."
            st.rerun()


def _named(each: Import) -> str:
    runs = "1 run" if each.added == 1 else f"{number(each.added)} runs"
    return f"{each.file}, {runs}, {moment_words(each.moment)}"


def _row(each: Import) -> list[str]:
    return [
        each.file,
        moment_words(each.moment),
        number(each.rows),
        number(each.added),
        "yes" if each.taken_back else "no",
    ]
