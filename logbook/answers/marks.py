"""Places of defects and breaks: kept with their run, counted over many."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from logbook.analysis import breaks
from logbook.analysis.breaks import BreaksResult, Tally
from logbook.answers.designs import designs
from logbook.answers.marks_refused import refuse_marks
from logbook.errors import CardChanged, RunNotFound
from logbook.records.designs import Design
from logbook.records.marks import BreakPlace, DefectPlace, RunMarks, marks_from
from logbook.store import Card, Store, Window
from logbook.vocabulary.break_places import Gathering

DRAWER = "marks"
Mark = TypeVar("Mark")
TRIES = 8
KEYS_KEPT = 100
"""Of each run: senders repeat what they sent a moment ago."""
PARTS = 10
"""Parts of a file in which breaks are counted."""
_PART_LABELS = tuple(
    f"{part * PARTS} to {(part + 1) * PARTS} % of its stitches" for part in range(PARTS)
)


def add_marks(
    store: Store,
    run_ref: str,
    *,
    places: Sequence[DefectPlace] = (),
    breaks: Sequence[BreakPlace] = (),
    source: str,
) -> RunMarks:
    """Add places to those of a run; what others marked meanwhile stays.

    Parameters
    ----------
    store
        The open book.
    run_ref
        The run.
    places, breaks
        What to add.
    source
        Kept with the places.

    Raises
    ------
    RunNotFound
        There is no such run.
    RecordError
        More breaks would be placed than the run counted, a head, a stitch or a defect that the
        run did not have, or a place that cannot be.
    """

    def added(marks: RunMarks) -> RunMarks:
        return _with(marks, places, breaks)

    return _changed(store, run_ref, added, source=source)[0]


def add_marks_once(
    store: Store,
    run_ref: str,
    *,
    places: Sequence[DefectPlace] = (),
    breaks: Sequence[BreakPlace] = (),
    source: str,
    request: tuple[str, str],
) -> tuple[RunMarks, bool]:
    """Add places under a sender's key; nothing where the key was among the last of this run.

    Parameters
    ----------
    store, run_ref, places, breaks, source
        As for :func:`add_marks`, which also says what is raised.
    request
        The sender's key, and a fingerprint of what was sent under it.

    Returns
    -------
    tuple[RunMarks, bool]
        The run's marks, with the fingerprint that the key stands for in ``requests``; and whether
        they were added now.
    """

    def added(marks: RunMarks) -> RunMarks:
        if request[0] in marks.requests:
            return marks
        kept = dict([*marks.requests.items(), request][-KEYS_KEPT:])
        return replace(_with(marks, places, breaks), requests=kept)

    return _changed(store, run_ref, added, source=source)


def take_mark_back(
    store: Store, run_ref: str, mark: DefectPlace | BreakPlace, *, source: str
) -> RunMarks:
    """Take one place of a run back, the last where several are alike."""

    def without(marks: RunMarks) -> RunMarks:
        return replace(
            marks,
            places=_without(marks.places, mark),
            breaks=_without(marks.breaks, mark),
        )

    return _changed(store, run_ref, without, source=source)[0]


def marks_of(store: Store, run: Mapping[str, Any]) -> RunMarks:
    """What is marked on a run as it stands; nothing where nothing was.

    Places on the drawing of another design, or of another version, than the run has now cannot
    be shown on this one: of those only heads and needles of breaks are left. They stay in the
    card, and are back once the run is corrected to be of that drawing again.
    """
    cards = store.cards(DRAWER, refs=[run["run_ref"]])
    return _as_it_stands(cards[0] if cards else None, run)


def marks_on(store: Store, design: str) -> tuple[RunMarks, ...]:
    """What is marked on the runs of a design, each as the run stands now."""
    cards = {card.card_ref: card for card in _cards_about(store, design)}
    runs = store.runs(refs=list(cards)).select("run_ref", "design", "design_version")
    return tuple(
        _as_it_stands(cards[run["run_ref"]], run)
        for run in runs.iter_rows(named=True)
        if run["design"] == design
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
    cards = store.cards(DRAWER) if design is None else _cards_about(store, design)
    runs = store.runs(asked)
    names = ["run_ref", "machine", "design", "design_version", "head_count", "thread_breaks"]
    names += ["needle_breaks", "stitches_sewn", "stitches_per_piece", "pieces_sewn"]
    by_ref = {run["run_ref"]: run for run in runs.select(names).iter_rows(named=True)}
    marked = {
        card.card_ref: _as_it_stands(card, by_ref[card.card_ref])
        for card in cards
        if card.card_ref in by_ref
    }
    known = {each.name: each for each in designs(store)}
    tallies = [*_by_machine(by_ref, marked), *_by_design(by_ref, marked, known)]
    return breaks.analyse(tallies)


def _cards_about(store: Store, design: str) -> tuple[Card, ...]:
    """Cards with marks of a design, whatever their run was said to be of when last marked."""
    return tuple(
        card
        for card in store.cards(DRAWER)
        if card.about == design
        or any(each.get("design") == design for each in card.content.get("other_drawings", ()))
    )


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
        # A step or a stitch number means something in one version alone: the newest with enough.
        counts = Counter(
            runs[ref]["design_version"]
            for ref, marks in marked.items()
            if runs[ref]["design"] == name
            for _ in marks.breaks
        )
        known_ones = [each for each in reversed(design.versions) if counts[each.mark]]
        if not known_ones:
            continue
        enough = [each for each in known_ones if counts[each.mark] >= breaks.FEWEST]
        version = enough[0] if enough else known_ones[0]
        its = {
            ref: run
            for ref, run in runs.items()
            if run["design"] == name and run["design_version"] == version.mark
        }
        earlier = version.mark != design.newest.mark
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
    marked: Mapping[str, RunMarks],
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


def _changed(
    store: Store, run_ref: str, change: Callable[[RunMarks], RunMarks], *, source: str
) -> tuple[RunMarks, bool]:
    """What is marked after a change, and whether anything was written."""
    found = store.runs(refs=[run_ref])
    if found.is_empty():
        raise RunNotFound(f"There is no run {run_ref} to mark places on.", "log the run first")
    run = found.row(0, named=True)
    for _ in range(TRIES):
        cards = store.cards(DRAWER, refs=[run_ref])
        before = _as_it_stands(cards[0] if cards else None, run)
        marks = change(before)
        if marks is before:
            return before, False
        refuse_marks(store, run, before=before, after=marks)
        try:
            store.keep_card(
                DRAWER,
                run_ref,
                marks.plain(),
                source=source,
                about=run["design"],
                seen=cards[0].version if cards else 0,
            )
        except CardChanged:
            continue
        return marks, True
    raise CardChanged(
        f"The places of run {run_ref} are being changed by others all the time.", "try again"
    )


def _as_it_stands(card: Card | None, run: Mapping[str, Any]) -> RunMarks:
    design, version = run["design"], run["design_version"]
    if card is None:
        return RunMarks(run["run_ref"], design, version)
    marks = marks_from(card.card_ref, card.about, card.content)
    if (marks.design, marks.design_version) == (design, version):
        return marks
    left = replace(marks, requests={}, other_drawings=())
    drawings = {(each.design, each.design_version): each for each in marks.other_drawings}
    drawings |= {(left.design, left.design_version): left}
    own = drawings.pop((design, version), RunMarks(run["run_ref"], design, version))
    return replace(
        own,
        breaks=_carried_over(marks.breaks, own.breaks),
        requests=marks.requests,
        other_drawings=tuple(drawings.values()),
    )


def _carried_over(
    breaks: Sequence[BreakPlace], own: Sequence[BreakPlace]
) -> tuple[BreakPlace, ...]:
    """Breaks as they stand on another drawing, on one that had ``own`` of them before.

    Heads and needles are of the machine, whatever was sewn: what was added or taken back since
    stays so. Colour steps and stitches are of one drawing alone.
    """
    left = list(own)
    carried = []
    for each in breaks:
        apart = replace(each, colour_step=None, stitch=None)
        if not (apart.head or apart.needle):
            continue
        same = (old for old in left if replace(old, colour_step=None, stitch=None) == apart)
        known = next(same, None)
        if known is not None:
            left.remove(known)
        carried.append(known or apart)
    return (*carried, *(each for each in left if not (each.head or each.needle)))


def _with(marks: RunMarks, places: Sequence[DefectPlace], breaks: Sequence[BreakPlace]) -> RunMarks:
    return replace(marks, places=(*marks.places, *places), breaks=(*marks.breaks, *breaks))


def _without(marks: tuple[Mark, ...], mark: object) -> tuple[Mark, ...]:
    at = max((place for place, each in enumerate(marks) if each == mark), default=None)
    return marks if at is None else (*marks[:at], *marks[at + 1 :])
