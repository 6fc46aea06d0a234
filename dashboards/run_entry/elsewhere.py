"""A run that another window of the same form logged: whether it says what was typed here."""

from __future__ import annotations

from typing import Any

from dashboards.run_entry.drawn import OF_THE_FILE
from dashboards.run_entry.typed import told
from logbook.book.designs import design
from logbook.book.drafts import Draft
from logbook.book.runs import log_run
from logbook.errors import RecordError, RunConflict
from logbook.store import Store

SOURCE = "form"


def is_of_another(store: Store, draft: Draft) -> bool:
    """Whether the book has the draft's run, and the draft says something else than it ever did.

    The draft is sent once more to see: what the book has is skipped, anything else under the same
    reference is refused, and neither is logged.
    """
    changes = store.history(draft.run_ref)
    if not changes or draft.logged:
        return False
    first = changes[0].content

    def of(name: str) -> Any:
        value = draft.typed.get(name)
        return None if value == "" else value

    run = {"finished_at": first["finished_at"], **told(store, of)}
    # What the design's file says of a run is settled when the run is logged.
    if run.get("design") is not None and design(store, run["design"]) is not None:
        run |= {name: first.get(name) for name in OF_THE_FILE}
    run["run_ref"] = draft.run_ref
    try:
        log_run(store, run, source=SOURCE)
    except (RecordError, RunConflict):
        return True
    return False
