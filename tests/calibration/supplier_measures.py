"""How often the comparison of suppliers is right, in shops whose truth is known."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from invented_runs import Runs, cells_of, draw_runs, true_rate
from invented_shops import SUPPLIERS, Shop, make_shop

from logbook.adjusted_comparison.rows import CodedRows, coded_rows
from logbook.adjusted_comparison.terms import LOT, SUPPLIER, terms_for
from logbook.kernels.setup_model import NO_LEVEL, SetupFit, compare, fit, shared_rows, verdict
from logbook.vocabulary.defects import ANY, DefectKind, kind

MARGINS = {"any": 0.01}
SINGLE_MARGIN = 0.005


@dataclass(frozen=True, slots=True)
class Compared:
    """One supplier against the reference in one shop, estimate and truth."""

    kind: str
    level: str
    lots: int
    world: int
    truth: float
    estimate: float
    crude: float
    covered: bool
    covered_together: bool
    width: float
    verdict: str
    margin: float

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
    """Compare every supplier with the largest one in each shop."""
    found: list[Compared] = []
    for world in worlds:
        shop = make_shop(world, scenario, lots=lots)
        drawn = draw_runs(shop, runs, world)
        cells = cells_of(drawn, kinds)
        for name in kinds:
            rows = coded_rows(cells, kind=kind_named(name))
            fitted = fit(setups=rows.setups, terms=terms_for("comparing", rows.varying))
            found += _compared(shop, drawn, rows, fitted, name, world)
    return found


def kind_named(name: str) -> DefectKind:
    """The trade's kind of that name, ``any`` among them."""
    return ANY if name == "any" else kind(name)


def _compared(
    shop: Shop, drawn: Runs, rows: CodedRows, fitted: SetupFit, name: str, world: int
) -> list[Compared]:
    pieces = np.bincount(drawn.setup["supplier"], weights=drawn.pieces, minlength=len(SUPPLIERS))
    against = int(np.argmax(pieces))
    shared = {
        supplier: shared_rows(
            strata=rows.setups.factors["fabric"] * 100 + rows.setups.factors["backing"],
            codes=rows.setups.factors[SUPPLIER],
            runs=rows.setups.runs,
            level=rows.code(SUPPLIER, SUPPLIERS[supplier]),
            reference=rows.code(SUPPLIER, SUPPLIERS[against]),
        )
        for supplier in range(len(SUPPLIERS))
        if supplier != against and rows.code(SUPPLIER, SUPPLIERS[supplier]) != NO_LEVEL
    }
    able = {supplier: mask for supplier, mask in shared.items() if mask.any()}
    margin = MARGINS.get(name, SINGLE_MARGIN)
    found = []
    for supplier, mask in able.items():
        alone, together = (
            compare(
                fit=fitted,
                factor=SUPPLIER,
                level=rows.code(SUPPLIER, SUPPLIERS[supplier]),
                reference=rows.code(SUPPLIER, SUPPLIERS[against]),
                shared=mask,
                renewed=LOT,
                comparisons=comparisons,
            ).difference
            for comparisons in (1, len(able))
        )
        truth = _true_difference(shop, drawn, mask, name, supplier, against)
        found.append(
            Compared(
                kind=name,
                level=SUPPLIERS[supplier],
                lots=np.unique(drawn.setup["lot"][drawn.setup["supplier"] == supplier]).size,
                world=world,
                truth=truth,
                estimate=alone.estimate,
                crude=_crude(drawn, name, supplier) - _crude(drawn, name, against),
                covered=alone.lower <= truth <= alone.upper,
                covered_together=together.lower <= truth <= together.upper,
                width=alone.upper - alone.lower,
                verdict=verdict(alone, margin=margin),
                margin=margin,
            )
        )
    return found


def _true_difference(
    shop: Shop, drawn: Runs, mask: np.ndarray, name: str, supplier: int, against: int
) -> float:
    setup = {factor: codes[mask] for factor, codes in drawn.setup.items()}
    rates = [
        np.average(
            true_rate(
                shop, {**setup, "supplier": np.full(mask.sum(), code)}, name, drawn.time[mask]
            ),
            weights=drawn.pieces[mask],
        )
        for code in (supplier, against)
    ]
    return float(rates[0] - rates[1])


def _crude(drawn: Runs, name: str, supplier: int) -> float:
    own = drawn.setup["supplier"] == supplier
    return float(drawn.counts[name][own].sum() / drawn.pieces[own].sum())


@dataclass(frozen=True, slots=True)
class Summary:
    """Shares in percent; widths and errors in points."""

    comparisons: int
    coverage: float
    lowest_coverage: tuple[str, float]
    one_lot_coverage: float
    width: float
    rmse: float
    crude_rmse: float
    false_better: float
    false_worse: float
    false_no_worse: float
    decided: float
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
        one_lot_coverage=100 * float(np.mean([each.covered for each in found if each.lots == 1]))
        if any(each.lots == 1 for each in found)
        else math.nan,
        width=100 * float(np.median([each.width for each in found])),
        rmse=100 * _root_mean_square([each.estimate - each.truth for each in found]),
        crude_rmse=100 * _root_mean_square([each.crude - each.truth for each in found]),
        false_better=_share(found, "better", [each.truth >= 0 for each in found]),
        false_worse=_share(found, "worse", [each.truth <= 0 for each in found]),
        false_no_worse=_share(found, "no_worse", [each.truth >= each.margin for each in found]),
        decided=100 * float(np.mean([each.verdict != "not_enough_data" for each in found])),
        any_of_all_wrong=100 * float(np.mean(list(families.values()))),
    )


def _share(found: list[Compared], claim: str, would_be_false: list[bool]) -> float:
    among = [each for each, false in zip(found, would_be_false, strict=True) if false]
    return 100 * float(np.mean([each.wrong == claim for each in among])) if among else 0.0


def _root_mean_square(errors: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(errors))))
