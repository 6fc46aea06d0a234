"""Advice asked of an open book: the Python twin of the command."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from difflib import get_close_matches
from typing import Any

from logbook.advice import WEIGHTS_BY, AdviceResult
from logbook.advice import advise as advise_from
from logbook.advice.job import SETUP, SURROUNDINGS
from logbook.answers.materials import shop_with_materials
from logbook.answers.runs import known_spellings
from logbook.errors import RecordError, TooLittleData
from logbook.fairness import CELLS_BY
from logbook.intake import take_one
from logbook.intake.headings import heading_name
from logbook.store import Store, Window
from logbook.vocabulary.bands import band_of
from logbook.vocabulary.defects import ANY
from logbook.vocabulary.factors import FACTORS

FABRICS_NAMED = 12
_CUT_FROM = {each.cut_from: each for each in FACTORS if each.cut_from is not None}
_MEASURED = {factor.column: column for column, factor in _CUT_FROM.items()}
_PARTS = (*(_MEASURED.get(name, name) for name in (*SETUP, *SURROUNDINGS)), "backing_oz_yd2")
"""What can be told of a setup, by the run sheet's names."""


def advise(
    store: Store,
    *,
    fabric: str,
    design: str | None = None,
    density: float | None = None,
    fabric_shade: str | None = None,
    setup: Mapping[str, Any] | None = None,
    window: Window | None = None,
) -> AdviceResult:
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
    told = {
        "fabric": fabric,
        "design": design,
        "density": density,
        "fabric_shade": fabric_shade,
        **(setup or {}),
    }
    run = take_one(
        {
            **{name: value for name, value in told.items() if value is not None},
            "finished_at": datetime.now(UTC).isoformat(timespec="seconds"),
            "pieces_inspected": 1,
        },
        shop=store.shop,
        known=known_spellings(store),
        now=datetime.now(UTC),
        outcome_needed=False,
    ).run.row(0, named=True)
    _only_parts(fabric, setup or {})
    fabrics = store.known("fabric")
    if run["fabric"] not in fabrics:
        raise TooLittleData(
            f"No run on {run['fabric']} is on record, so that there is no setup to start from.",
            _fabrics_meant(str(run["fabric"]), fabrics),
            needed=1,
            got=0,
            unit="runs",
        )
    kinds = [
        each.name for each in store.shop.kinds if each.measure == "pieces" and each.charged_to_setup
    ]
    return advise_from(
        store.cells([*kinds, ANY.name], by=CELLS_BY, window=window),
        shop=shop_with_materials(store),
        weights=store.totals(by=WEIGHTS_BY, window=window),
        fabric=run["fabric"],
        design=run["design"],
        density=run["density"],
        fabric_shade=run["fabric_shade"],
        setup=_factors(run),
    )


def _only_parts(fabric: str, setup: Mapping[str, Any]) -> None:
    """Refuse what advice would leave lying: no fabric, and columns that are no part of a setup."""
    reasons = {
        name: f"{name} is no part of a setup that advice goes by; the parts are {', '.join(_PARTS)}"
        for name in map(heading_name, map(str, setup))
        if name not in _PARTS
    }
    if not fabric.strip():
        reasons["fabric"] = "no fabric is named"
    if reasons:
        raise RecordError(f"{'; '.join(reasons.values())}.", reasons=reasons)


def _fabrics_meant(asked: str, fabrics: Sequence[str]) -> str:
    """Guess which fabric was meant, else list those of most runs."""
    if not fabrics:
        return "log runs first"
    near = get_close_matches(asked.lower(), [name.lower() for name in fabrics], n=1)
    meant = [name for name in fabrics if near and name.lower() == near[0]]
    within = [name for name in fabrics if asked.lower() in name.lower()]
    if found := (meant or within)[:1]:
        return f"did you mean {found[0]}?"
    more = ", …" if len(fabrics) > FABRICS_NAMED else ""
    return f"fabrics in the book: {', '.join(fabrics[:FABRICS_NAMED])}{more}"


def _factors(run: Mapping[str, Any]) -> dict[str, str]:
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
