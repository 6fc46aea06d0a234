"""Places of defects and breaks: kept with their run, counted over many."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from logbook.analysis import breaks
from logbook.analysis.breaks import BreaksResult, Tally
from logbook.answers.designs import designs
from logbook.errors import RunNotFound
from logbook.records.designs import Design
from logbook.records.marks import BreakPlace, RunMarks, marks_from
from logbook.store import Card, Store, Window
from logbook.vocabulary.break_places import Gathering

DRAWER = "marks"
PARTS = 10
"""Parts of a file in which breaks are counted."""
_PART_LABELS = tuple(
    f"{part * PARTS} to {(part + 1) * PARTS} % of its stitches" for part in range(PARTS)
)


def keep_marks(store: Store, marks: RunMarks, *, source: str, seen: int | None = None) -> int:
    """Keep the places of a run, in place of what was marked before.

    The run's own design and version are written beside them.

    Raises
    ------
    RunNotFound
        There is no such run.
    CardChanged
        Somebody else marked the run since ``seen``.
    """
    found = store.runs(refs=[marks.run_ref])
    if found.is_empty():
        raise RunNotFound(
            f"There is no run {marks.run_ref} to mark places on.", "log the run first"
        )
    run = found.row(0, named=True)
    whole = replace(marks, design=run["design"], design_version=run["design_version"])
    return store.keep_card(
        DRAWER, whole.run_ref, whole.plain(), source=source, about=whole.design, seen=seen
    )


def marks_of(store: Store, run_ref: str) -> RunMarks | None:
    """What was marked on one run; None where nothing was."""
    cards = store.cards(DRAWER, refs=[run_ref])
    return _read(cards[0]) if cards else None


def marks_on(store: Store, design: str) -> tuple[RunMarks, ...]:
    """What was marked on all the runs of a design that are not withdrawn."""
    return _of_standing_runs(store, store.cards(DRAWER, about=design))


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
    cards = store.cards(DRAWER) if design is None else store.cards(DRAWER, about=design)
    runs = store.runs(asked)
    names = ["run_ref", "machine", "design", "design_version", "head_count", "thread_breaks"]
    names += ["needle_breaks", "stitches_sewn", "stitches_per_piece", "pieces_sewn"]
    by_ref = {run["run_ref"]: run for run in runs.select(names).iter_rows(named=True)}
    marked = {card.card_ref: _read(card) for card in cards if card.card_ref in by_ref}
    known = {each.name: each for each in designs(store)}
    tallies = [*_by_machine(by_ref, marked), *_by_design(by_ref, marked, known)]
    return breaks.analyse(tallies)


def _by_machine(
    runs: Mapping[str, Mapping[str, Any]], marked: Mapping[str, RunMarks]
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
    marked: Mapping[str, RunMarks],
    known: Mapping[str, Design],
) -> Iterable[Tally]:
    for name in _with_breaks(runs, marked, "design"):
        design = known.get(name)
        if design is None:
            continue
        # A step or a stitch number means something in one version alone: the one most marked.
        versions = Counter(
            run["design_version"]
            for ref, run in runs.items()
            if ref in marked and run["design"] == name
        )
        version = design.version(versions.most_common(1)[0][0])
        if version is None:
            continue
        its = {
            ref: run
            for ref, run in runs.items()
            if run["design"] == name and run["design_version"] == version.mark
        }
        subject = f"design {name}"
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
    marked: Mapping[str, RunMarks],
    *,
    stitches: int = 0,
) -> Tally:
    counts: Counter[int] = Counter()
    for ref in runs.keys() & marked.keys():
        for each in marked[ref].breaks:
            place = _place(each, gathering, stitches)
            if place is not None and work.get(place, 0.0) > 0.0:
                counts[place] += 1
    happened = sum(
        (run["thread_breaks"] or 0) + (run["needle_breaks"] or 0) for run in runs.values()
    )
    places = sorted(work)
    labels = _PART_LABELS if gathering == "place" else tuple(map(str, places))
    return Tally(
        gathering,
        subject,
        labels,
        tuple(counts[place] for place in places),
        tuple(float(work[place]) for place in places),
        max(0, happened - counts.total()),
    )


def _place(each: BreakPlace, gathering: Gathering, stitches: int) -> int | None:
    if gathering != "place":
        value: int | None = getattr(each, gathering)
        return value
    if each.stitch is None or not 0 < each.stitch <= stitches:
        return None
    return min(PARTS - 1, (each.stitch - 1) * PARTS // stitches)


def _with_breaks(
    runs: Mapping[str, Mapping[str, Any]], marked: Mapping[str, RunMarks], name: str
) -> list[str]:
    return sorted({runs[ref][name] for ref, marks in marked.items() if marks.breaks} - {None})


def _stitches(run: Mapping[str, Any]) -> float:
    told = run["stitches_sewn"]
    return float(told or (run["stitches_per_piece"] or 0) * (run["pieces_sewn"] or 0))


def _of_standing_runs(store: Store, cards: Sequence[Card]) -> tuple[RunMarks, ...]:
    standing = set(store.runs(refs=[card.card_ref for card in cards])["run_ref"])
    return tuple(_read(card) for card in cards if card.card_ref in standing)


def _read(card: Card) -> RunMarks:
    return marks_from(card.card_ref, card.about, card.content)
