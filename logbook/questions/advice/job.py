"""The job that advice is asked for, and the setup that it starts from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import accumulate

import polars as pl

from logbook.adjusted_comparison import CELLS_BY
from logbook.errors import TooLittleData
from logbook.runs.factors import COMPARED, compared
from logbook.shop import Shop
from logbook.vocabulary.bands import DENSITY_BANDS, band_of
from logbook.vocabulary.fabrics import fabric_understood

SETUP: tuple[str, ...] = compared("setup")
"""Parts of a setup that can be changed for a job, in the order in which they are named."""
SURROUNDINGS: tuple[str, ...] = tuple(
    name
    for name in compared("job", "judging", "surroundings", "people")
    if name not in ("fabric", "fabric_shade", "density_band")
)
"""What a job may be narrowed to, and no change is proposed of."""
BACKING_PARTS = tuple(
    each.column for each in COMPARED if each.of.part == "backing" and each.column != "backing"
)
"""What comes with a backing, in the order in which it is settled for another one."""

_LONG_PILE_MM = 1.0


@dataclass(frozen=True, slots=True)
class Job:
    """What is to be sewn, and with what it would be sewn now.

    Attributes
    ----------
    fabric
        As spelled in the book.
    design, density_band, fabric_shade
        None where not given.
    setup
        Factor → word of the setup now; None where the record does not say.
    given
        Which of its parts were told; the rest is the usual of the record.
    usual_runs
        Runs on record with the whole setup, told and filled in; 0 where nothing was filled.
    unseen
        Factor → word that was told and that no run on record has: of it the model knows nothing.
    """

    fabric: str
    design: str | None
    density_band: str | None
    fabric_shade: str | None
    setup: Mapping[str, str | None]
    given: frozenset[str]
    usual_runs: int
    unseen: Mapping[str, str] = field(default_factory=dict)

    def whole(self) -> dict[str, str | None]:
        """Job and setup as one mapping of factors."""
        named = {
            "fabric": self.fabric,
            "design": self.design,
            "density_band": self.density_band,
            "fabric_shade": self.fabric_shade,
        }
        return {name: word for name, word in named.items() if word is not None} | dict(self.setup)


def in_words(cells: pl.DataFrame) -> pl.DataFrame:
    """Cells with every factor as text, the way setups are written down here."""
    # Piece by piece: of kinds laid one after another, pieces share their words, and a change of the
    # whole would write them out anew for every kind.
    lengths = cells["run_ref"].chunk_lengths()
    starts = accumulate(lengths, initial=0)
    return pl.concat(
        cells.slice(start, length).with_columns(
            pl.col(name).cast(pl.String) for name in CELLS_BY if cells[name].dtype != pl.String
        )
        for start, length in zip(starts, lengths, strict=False)
    )


def job_from(
    cells: pl.DataFrame,
    *,
    fabric: str,
    design: str | None = None,
    density: float | None = None,
    fabric_shade: str | None = None,
    setup: Mapping[str, str] | None = None,
) -> Job:
    """Fill in the usual setup for a job.

    Parameters
    ----------
    cells
        Cells of any defect in words, grouped by :data:`logbook.adjusted_comparison.CELLS_BY`.
    fabric, design, fabric_shade
        As spelled in the book.
    density
        Stitches/mm² of the densest square centimetre; that of the design where not given.
    setup
        Parts of the setup that are told, factor → word.

    Returns
    -------
    Job
        Parts not told are those used for most pieces of this fabric (of this design, where it
        has runs) together with what was told, settled one after another; what goes with a
        backing that this fabric was never sewn on is that of the backing on other fabrics.

    Raises
    ------
    TooLittleData
        No run with pieces inspected is on this fabric.
    """
    told = dict(setup or {})
    on_fabric = cells.filter(pl.col("fabric") == fabric)
    if on_fabric.is_empty():
        raise TooLittleData(
            f"No run on {fabric} with pieces inspected is among those asked about, so that there "
            "is no setup to start from.",
            "ask for other dates or another fabric, or log runs on it first",
            needed=1,
            got=0,
            unit="runs",
        )
    band = None if density is None else band_of(density, DENSITY_BANDS)
    density_band = None if band is None else band.name
    if density_band is None and design is not None:
        density_band = _most(on_fabric.filter(pl.col("design") == design), "density_band")
    usual = _usual(on_fabric, design, told) | _parts_of(cells, on_fabric, told.get("backing"))
    filled = {name: usual.get(name) for name in SETUP} | told
    asked = told | {
        name: word
        for name, word in (
            ("design", design),
            ("density_band", density_band),
            ("fabric_shade", fabric_shade),
        )
        if word is not None
    }
    return Job(
        fabric=fabric,
        design=design,
        density_band=density_band,
        fabric_shade=fabric_shade,
        setup=filled,
        given=frozenset(told),
        usual_runs=0 if set(told) >= set(SETUP) else _runs_with(on_fabric, filled),
        unseen={name: word for name, word in asked.items() if not (cells[name] == word).any()},
    )


def _usual(
    on_fabric: pl.DataFrame, design: str | None, told: Mapping[str, str]
) -> dict[str, str | None]:
    """Return the usual setup of runs like what was told, part by part."""
    alike = on_fabric
    for name in (name for name in told if name in SETUP):
        agreeing = alike.filter(pl.col(name) == told[name])
        alike = agreeing if agreeing.height else alike
    if design is not None:
        own = alike.filter(pl.col("design") == design)
        alike = own if own.height else alike
    usual: dict[str, str | None] = {}
    for name in SETUP:
        usual[name] = _most(alike, name)
        if usual[name] is not None:
            alike = alike.filter(pl.col(name) == usual[name])
    return usual


def _parts_of(
    cells: pl.DataFrame, on_fabric: pl.DataFrame, backing: str | None
) -> dict[str, str | None]:
    """Return the usual parts of a backing that the fabric was never sewn on; none of no backing."""
    if backing is None or (on_fabric["backing"] == backing).any():
        return {}
    elsewhere = cells.filter(pl.col("backing") == backing)
    usual: dict[str, str | None] = {}
    for name in BACKING_PARTS:
        usual[name] = _most(elsewhere, name)
        if usual[name] is not None:
            elsewhere = elsewhere.filter(pl.col(name) == usual[name])
    return usual


def _runs_with(cells: pl.DataFrame, setup: Mapping[str, str | None]) -> int:
    """Count runs that had every part of a setup that is known."""
    had = cells.filter(*(pl.col(name) == word for name, word in setup.items() if word is not None))
    return int(had["runs"].sum())


def _most(cells: pl.DataFrame, name: str) -> str | None:
    """Return the level of most pieces; None where there is none."""
    known = cells.filter(pl.col(name).is_not_null())
    if known.is_empty():
        return None
    summed = known.group_by(name).agg(pl.col("exposure").sum())
    return str(summed.sort("exposure", name, descending=[True, False])[name][0])


def attributes_of(fabric: str, shop: Shop) -> dict[str, str]:
    """What rules of thumb want to know of a fabric: its class, stretch, pile and sheerness.

    The shop's own facts come before the usual ones of the class.
    """
    known = fabric_understood(fabric)
    found = (
        {}
        if known is None
        else {
            "fabric": known.name,
            "fabric_stretch": known.stretch,
            "fabric_pile": known.pile,
            "fabric_sheer": "false" if known.sheerness == "opaque" else "true",
        }
    )
    for facts in shop.fabrics:
        if facts.name.casefold() != fabric.casefold():
            continue
        if facts.stretch is not None:
            found["fabric_stretch"] = facts.stretch
        if facts.pile_mm is not None:
            found["fabric_pile"] = (
                "none"
                if facts.pile_mm == 0
                else "texture"
                if facts.pile_mm < _LONG_PILE_MM
                else "pile"
            )
        if facts.sheerness is not None:
            found["fabric_sheer"] = "false" if facts.sheerness == "opaque" else "true"
    return found
