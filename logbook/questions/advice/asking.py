"""Advice asked of an open book: the Python twin of the command."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any, Required

from typing_extensions import TypedDict, Unpack

from logbook.adjusted_comparison import CELLS_BY
from logbook.book.materials import shop_with_materials
from logbook.book.runs import known_spellings
from logbook.errors import RecordError, TooLittleData
from logbook.questions.advice.analyse import advise as advise_from
from logbook.questions.advice.job import SETUP, SURROUNDINGS, Job
from logbook.questions.advice.materials import WEIGHTS_BY
from logbook.questions.advice.result import AdviceResult
from logbook.runs.columns import OPEN_LISTS
from logbook.runs.factors import FACTORS, factor_label
from logbook.runs.intake import parse_run
from logbook.runs.intake.headings import heading_name
from logbook.store import Store, Window
from logbook.vocabulary.bands import band_of
from logbook.vocabulary.defects import ANY
from logbook.wording import meant_by

FABRICS_NAMED = 12
DENSEST = 25.0
"""Stitches/mm²; more needle holes than that leave no cloth between them."""
_CUT_FROM = {each.cut_from: each for each in FACTORS if each.cut_from is not None}
_MEASURED = {factor.column: column for column, factor in _CUT_FROM.items()}
PARTS = (*(_MEASURED.get(name, name) for name in (*SETUP, *SURROUNDINGS)), "backing_oz_yd2")
"""What can be told of a setup, by the run sheet's names."""


class JobTold(TypedDict, total=False):
    """A job as it is told, see :func:`advise`."""

    fabric: Required[str]
    design: str | None
    density: float | None
    fabric_shade: str | None
    setup: Mapping[str, Any] | None


def advise(store: Store, *, window: Window | None = None, **told: Unpack[JobTold]) -> AdviceResult:
    """Which setup the record favours for a job.

    Parameters
    ----------
    store
        The open book.
    fabric, design
        In any spelling known to the book.
    density
        Stitches/mm² of the densest square centimetre.
    fabric_shade
        ``light``, ``mid`` or ``dark``.
    setup
        Parts of the setup now, by the run sheet's names; the rest is the usual of the record.
    window
        Which runs to learn from.

    Raises
    ------
    RecordError
        A part of the setup cannot be read, or is none; ``reasons`` maps each name to its sentence.
    TooLittleData
        No run is on the fabric, or too few defects are on record.
    """
    run = read_job(store, **told)
    kinds = [
        each.name for each in store.shop.kinds if each.measure == "pieces" and each.charged_to_setup
    ]
    result = advise_from(
        store.cells([*kinds, ANY.name], by=CELLS_BY, window=window),
        shop=shop_with_materials(store),
        weights=store.totals(by=WEIGHTS_BY, window=window),
        fabric=run["fabric"],
        design=run["design"],
        density=run["density"],
        fabric_shade=run["fabric_shade"],
        setup=setup_told(run),
    )
    return replace(result, notes=(*names_meant(store, result.job), *result.notes))


def read_job(store: Store, **told: Unpack[JobTold]) -> dict[str, Any]:
    """Read a job as it was told, in the spellings of the book; raises as :func:`advise`."""
    setup = told.get("setup") or {}
    parts: dict[str, Any] = {name: value for name, value in told.items() if name != "setup"}
    parts |= setup
    run = parse_run(
        {
            **{name: value for name, value in parts.items() if value is not None},
            "finished_at": datetime.now(UTC).isoformat(timespec="seconds"),
            "pieces_inspected": 1,
        },
        shop=store.shop,
        known=known_spellings(store),
        now=datetime.now(UTC),
        outcome_needed=False,
    ).run.row(0, named=True)
    _only_parts(told["fabric"], told.get("density"), setup)
    fabrics = store.known("fabric")
    if run["fabric"] not in fabrics:
        raise TooLittleData(
            f"No run on {run['fabric']} is on record, so that there is no setup to start from.",
            _fabrics_meant(str(run["fabric"]), fabrics),
            needed=1,
            got=0,
            unit="runs",
        )
    return run


def names_meant(store: Store, job: Job) -> tuple[str, ...]:
    """Guess which names were meant, of those that no run has."""
    unseen = ((name, word) for name, word in job.unseen.items() if name in OPEN_LISTS)
    return tuple(
        f"No run has {factor_label(name).lower()} {word}: did you mean {meant}?"
        for name, word in unseen
        if (meant := meant_by(word, store.known(name))) is not None
    )


def _only_parts(fabric: str, density: float | None, setup: Mapping[str, Any]) -> None:
    """Refuse what advice would leave lying: no fabric, no such density, no part of a setup."""
    reasons = {
        name: f"{name} is no part of a setup that advice goes by; the parts are {', '.join(PARTS)}"
        for name in map(heading_name, map(str, setup))
        if name not in PARTS
    }
    if density is not None and density > DENSEST:
        reasons["density"] = (
            f"{density:g} stitches/mm² cannot be sewn: the densest work has about {DENSEST:g}, "
            "common work 2 to 8"
        )
    if not fabric.strip():
        reasons["fabric"] = "no fabric is named"
    if reasons:
        raise RecordError(f"{'; '.join(reasons.values())}.", reasons=reasons)


def _fabrics_meant(asked: str, fabrics: Sequence[str]) -> str:
    """Guess which fabric was meant, else list those of most runs."""
    if not fabrics:
        return "log runs first"
    if (meant := meant_by(asked, fabrics)) is not None:
        return f"did you mean {meant}?"
    more = ", …" if len(fabrics) > FABRICS_NAMED else ""
    return f"fabrics in the book: {', '.join(fabrics[:FABRICS_NAMED])}{more}"


def setup_told(run: Mapping[str, Any]) -> dict[str, str]:
    """The told parts of a setup as the factors of the cells, measured ones in their bands."""
    words: dict[str, str] = {}
    for name in (*SETUP, *SURROUNDINGS):
        value = run.get(name)
        if value is not None:
            words[name] = str(value)
    for column, factor in _CUT_FROM.items():
        value = run.get(column)
        band = None if value is None else band_of(float(value), factor.bands)
        if band is not None and factor.column in SETUP:
            words[factor.column] = band.name
    return words
