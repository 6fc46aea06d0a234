"""Where breaks happened, asked of a book: counted by head, needle, colour and part of a file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from logbook.book.defect_locations import COLLECTION, as_it_stands, documents_about
from logbook.book.designs import designs
from logbook.questions.breaks import analyse as breaks
from logbook.questions.breaks.result import BreaksResult, Tally
from logbook.runs.defect_locations import BreakLocation, RunLocations
from logbook.runs.designs import Design
from logbook.store import Store, Window
from logbook.vocabulary.break_places import Gathering

PARTS = 10
"""Parts of a file in which breaks are counted."""


_PART_LABELS = tuple(
    f"{part * PARTS} to {(part + 1) * PARTS} % of its stitches" for part in range(PARTS)
)


def break_patterns(
    store: Store, *, window: Window | None = None, design: str | None = None
) -> BreaksResult:
    """Whether breaks gather on one head, needle, colour or part of a file.

    Parameters
    ----------
    store
        The open book.
    window
        Which runs; all of them unless told.
    design
        Only this one.

    Raises
    ------
    TooLittleData
        Nobody wrote down where enough breaks happened.
    """
    asked = window or Window()
    if design is not None:
        asked = replace(asked, where={**asked.where, "design": design})
    documents = store.documents(COLLECTION) if design is None else documents_about(store, design)
    runs = store.runs(asked)
    names = ["run_ref", "machine", "design", "design_version", "head_count", "thread_breaks"]
    names += ["needle_breaks", "stitches_sewn", "stitches_per_piece", "pieces_sewn"]
    by_ref = {run["run_ref"]: run for run in runs.select(names).iter_rows(named=True)}
    marked = {
        document.key: as_it_stands(document, by_ref[document.key])
        for document in documents
        if document.key in by_ref
    }
    known = {each.name: each for each in designs(store)}
    tallies = [*_by_machine(by_ref, marked), *_by_design(by_ref, marked, known)]
    return breaks.analyse(tallies)


def _by_machine(
    runs: Mapping[str, Mapping[str, Any]], marked: Mapping[str, RunLocations]
) -> Iterable[Tally]:
    """Heads of one machine sew alike; which needle sews what, only its design says."""
    for machine in _with_breaks(runs, marked, "machine"):
        its = {ref: run for ref, run in runs.items() if run["machine"] == machine}
        heads: Counter[int] = Counter()
        for run in its.values():
            for head in range(1, (run["head_count"] or 0) + 1):
                heads[head] += _stitches(run) / run["head_count"]
        yield _tally("head", f"machine {machine}", heads, its, marked)


def _by_design(
    runs: Mapping[str, Mapping[str, Any]],
    marked: Mapping[str, RunLocations],
    known: Mapping[str, Design],
) -> Iterable[Tally]:
    for name in _with_breaks(runs, marked, "design"):
        design = known.get(name)
        if design is None:
            continue
        # A step or a stitch number means something in one version alone: the newest with enough.
        counts = Counter(
            runs[ref]["design_version"]
            for ref, marks in marked.items()
            if runs[ref]["design"] == name
            for _ in marks.breaks
        )
        known_ones = [each for each in reversed(design.versions) if counts[each.digest]]
        if not known_ones:
            continue
        enough = [each for each in known_ones if counts[each.digest] >= breaks.FEWEST]
        version = enough[0] if enough else known_ones[0]
        its = {
            ref: run
            for ref, run in runs.items()
            if run["design"] == name and run["design_version"] == version.digest
        }
        earlier = version.digest != design.newest.digest
        subject = f"design {name}"
        if earlier:
            subject += f" (its file of {version.since.day} {version.since:%b %Y})"
        steps = Counter(dict(enumerate(map(float, version.step_stitches), 1)))
        yield _tally("colour_step", subject, steps, its, marked)
        if version.needles:
            needles: Counter[int] = Counter()
            for needle, stitches in zip(version.needles, version.step_stitches, strict=False):
                needles[needle] += stitches
            yield _tally("needle", subject, needles, its, marked)
        parts = Counter(dict.fromkeys(range(PARTS), 1.0))
        yield _tally("place", subject, parts, its, marked, stitches=version.stitches)


def _tally(
    gathering: Gathering,
    subject: str,
    work: Mapping[int, float],
    runs: Mapping[str, Mapping[str, Any]],
    marked: Mapping[str, RunLocations],
    *,
    stitches: int = 0,
) -> Tally:
    places = sorted(work)
    by_run = []
    for ref in sorted(runs.keys() & marked.keys()):
        counts = Counter(_place(each, gathering, stitches) for each in marked[ref].breaks)
        if any(counts[place] for place in places if work[place] > 0.0):
            by_run.append(tuple(counts[place] if work[place] > 0.0 else 0 for place in places))
    happened = sum(
        (run["thread_breaks"] or 0) + (run["needle_breaks"] or 0) for run in runs.values()
    )
    placed = sum(map(sum, by_run))
    labels = _PART_LABELS if gathering == "place" else tuple(map(str, places))
    return Tally(
        gathering,
        subject,
        labels,
        tuple(by_run),
        tuple(float(work[place]) for place in places),
        max(0, happened - placed),
    )


def _place(each: BreakLocation, gathering: Gathering, stitches: int) -> int | None:
    if gathering != "place":
        value: int | None = getattr(each, gathering)
        return value
    if each.stitch is None or not 0 < each.stitch <= stitches:
        return None
    return min(PARTS - 1, (each.stitch - 1) * PARTS // stitches)


def _with_breaks(
    runs: Mapping[str, Mapping[str, Any]], marked: Mapping[str, RunLocations], name: str
) -> list[str]:
    return sorted({runs[ref][name] for ref, marks in marked.items() if marks.breaks} - {None})


def _stitches(run: Mapping[str, Any]) -> float:
    told = run["stitches_sewn"]
    return float(told or (run["stitches_per_piece"] or 0) * (run["pieces_sewn"] or 0))
