"""How often the comparison of suppliers is right, in shops whose truth is known."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import polars as pl
from invented_runs import Runs, cells_of, draw_runs, true_rate
from invented_shops import SUPPLIERS, Shop, make_shop
from miswritten_lots import miswritten
from scipy.special import stdtrit

from logbook.adjusted_comparison import adjusted_suppliers
from logbook.kernels.setup_model import shared_rows
from logbook.questions.suppliers.analyse import usual_margin
from logbook.vocabulary.defects import ANY, DefectKind, kind

CONTROLS = ("hoop_marks", "needle_cuts")
"""Kinds of the invented shops that no backing causes."""
REAL_RATIO = 1.25
"""Suppliers further apart than this ought to be found."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One supplier against the reference in one shop, estimate and truth."""

    kind: str
    level: str
    lots: int
    world: int
    truth: float
    true_ratio: float
    estimate: float
    crude: float
    covered: bool
    covered_together: bool
    rate_covered: bool
    width: float
    verdict: str
    margin: float
    changed: bool
    changes: bool

    @property
    def wrong(self) -> str | None:
        """The false claim made, if any."""
        false = {
            "better": self.truth >= 0,
            "worse": self.truth <= 0,
            "no_worse": self.truth >= self.margin,
        }
        return self.verdict if false.get(self.verdict, False) else None


def compare_in_worlds(
    scenario: str, *, worlds: range, runs: int, kinds: tuple[str, ...], lots: int = 60
) -> list[Compared]:
    """Compare every supplier with the largest one in each shop, as the program does."""
    found: list[Compared] = []
    for world in worlds:
        shop = make_shop(world, scenario, lots=lots)
        drawn = draw_runs(shop, runs, world)
        cells = cells_of(drawn, (*kinds, *CONTROLS))
        if scenario == "miswritten":
            cells = miswritten(cells, world)
        for name in kinds:
            found += _compared(shop, drawn, cells, name, world)
    return found


def kind_named(name: str) -> DefectKind:
    """The trade's kind of that name, ``any`` among them."""
    return ANY if name == "any" else kind(name)


def _compared(
    shop: Shop, drawn: Runs, cells: pl.DataFrame, name: str, world: int
) -> list[Compared]:
    pieces = np.bincount(drawn.setup["supplier"], weights=drawn.pieces, minlength=len(SUPPLIERS))
    against = int(np.argmax(pieces))
    margin = usual_margin(kind_named(name), _crude(drawn, name, against))
    figures = adjusted_suppliers(
        cells,
        kind=kind_named(name),
        reference=SUPPLIERS[against],
        margin=margin,
        controls=tuple(map(kind_named, CONTROLS)),
    )
    found = []
    for supplier, word in enumerate(SUPPLIERS):
        one = figures.get(word)
        if one is None or supplier == against or not one.known or one.verdict is None:
            continue
        shared = _shared(drawn, supplier, against)
        rates = _true_rates(shop, drawn, shared, name, (supplier, against))
        lowest, highest = one.rate_interval
        truth, (lower, upper) = rates[0] - rates[1], one.difference_interval
        reach = float(stdtrit(one.degrees, 0.975)) * one.standard_error
        found.append(
            Compared(
                kind=name,
                level=word,
                lots=np.unique(drawn.setup["lot"][drawn.setup["supplier"] == supplier]).size,
                world=world,
                truth=truth,
                true_ratio=rates[0] / rates[1],
                estimate=one.difference,
                crude=_crude(drawn, name, supplier) - _crude(drawn, name, against),
                covered=abs(truth - one.difference) <= reach,
                covered_together=lower <= truth <= upper,
                rate_covered=lowest <= rates[0] <= highest,
                width=2 * reach,
                verdict=one.verdict,
                margin=margin,
                changed=bool(one.lately),
                changes=shop.worsens in (supplier, against),
            )
        )
    return found


def _shared(drawn: Runs, supplier: int, against: int) -> np.ndarray:
    return shared_rows(
        strata=(drawn.setup["fabric"] * 100 + drawn.setup["backing"]).astype(np.intp),
        codes=drawn.setup["supplier"].astype(np.intp),
        runs=np.ones(drawn.pieces.size),
        level=supplier,
        reference=against,
    )


def _true_rates(
    shop: Shop, drawn: Runs, mask: np.ndarray, name: str, suppliers: tuple[int, int]
) -> list[float]:
    """Rates on the next lots: where a supplier has changed, as it is at the end."""
    setup = {factor: codes[mask] for factor, codes in drawn.setup.items()}
    time = np.ones(mask.sum()) if shop.worsens >= 0 else drawn.time[mask]
    return [
        float(
            np.average(
                true_rate(shop, {**setup, "supplier": np.full(mask.sum(), code)}, name, time),
                weights=drawn.pieces[mask],
            )
        )
        for code in suppliers
    ]


def _crude(drawn: Runs, name: str, supplier: int) -> float:
    own = drawn.setup["supplier"] == supplier
    return float(drawn.counts[name][own].sum() / drawn.pieces[own].sum())


@dataclass(frozen=True, slots=True)
class Summary:
    """Shares in percent; widths and errors in points.

    ``rate_coverage`` is that of what a good piece costs too, which grows with the rate and is sure
    but for it.
    """

    comparisons: int
    coverage: float
    lowest_coverage: tuple[str, float]
    rate_coverage: float
    one_lot_coverage: float
    width: float
    rmse: float
    crude_rmse: float
    false_better: float
    false_worse: float
    false_no_worse: float
    half_again_called_no_worse: float
    decided: float
    power: float
    wrong_way: float
    changes_said: float
    false_changes: float
    any_of_all_wrong: float


def summary(found: list[Compared]) -> Summary:
    """Sum up; a rate of false claims is among the comparisons in which it would be false."""
    by_kind = {
        name: 100 * float(np.mean([each.covered for each in found if each.kind == name]))
        for name in {each.kind for each in found}
    }
    lowest = min(by_kind, key=lambda name: by_kind[name])
    families: dict[tuple[int, str], bool] = {}
    for each in found:
        key = each.world, each.kind
        families[key] = families.get(key, False) or not each.covered_together
    return Summary(
        comparisons=len(found),
        coverage=100 * float(np.mean([each.covered for each in found])),
        lowest_coverage=(lowest, by_kind[lowest]),
        rate_coverage=_percent(each.rate_covered for each in found),
        one_lot_coverage=100 * float(np.mean([each.covered for each in found if each.lots == 1]))
        if any(each.lots == 1 for each in found)
        else math.nan,
        width=100 * float(np.median([each.width for each in found])),
        rmse=100 * _root_mean_square([each.estimate - each.truth for each in found]),
        crude_rmse=100 * _root_mean_square([each.crude - each.truth for each in found]),
        false_better=_share(found, "better", [each.truth >= 0 for each in found]),
        false_worse=_share(found, "worse", [each.truth <= 0 for each in found]),
        false_no_worse=_share(found, "no_worse", [each.truth >= each.margin for each in found]),
        half_again_called_no_worse=_percent(
            each.verdict == "no_worse" for each in found if each.true_ratio >= 1.5
        ),
        decided=100 * float(np.mean([each.verdict != "not_enough_data" for each in found])),
        power=_percent(_found(each) for each in found if _apart(each)),
        wrong_way=_percent(
            each.wrong is not None for each in found if each.verdict != "not_enough_data"
        ),
        changes_said=_percent(each.changed for each in found if each.changes),
        false_changes=_percent(each.changed for each in found if not each.changes),
        any_of_all_wrong=100 * float(np.mean(list(families.values()))),
    )


def _apart(each: Compared) -> bool:
    return abs(math.log(each.true_ratio)) >= math.log(REAL_RATIO)


def _found(each: Compared) -> bool:
    return each.verdict == ("worse" if each.truth > 0 else "better")


def _percent(said: Iterable[bool]) -> float:
    listed = list(said)
    return 100 * float(np.mean(listed)) if listed else math.nan


def _share(found: list[Compared], claim: str, would_be_false: list[bool]) -> float:
    among = [each for each, false in zip(found, would_be_false, strict=True) if false]
    return 100 * float(np.mean([each.wrong == claim for each in among])) if among else 0.0


def _root_mean_square(errors: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(errors))))
