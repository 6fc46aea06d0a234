"""Whether something that nobody wrote down may be behind a supplier's difference.

Two signs: kinds of defect that no backing causes differ between the suppliers' pieces all the same
(negative controls: Lipsitch, Tchetgen Tchetgen & Cohen 2010, Epidemiology 21:383-388); or, where no
such kind is recorded, the one supplier has had the harder work by all that is recorded.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import polars as pl

from logbook.adjusted_comparison.affordable import fit_affordable
from logbook.adjusted_comparison.pooled import OTHERS, pooled_kinds
from logbook.adjusted_comparison.rows import UNKNOWN, Bounds, CodedRows, coded_rows
from logbook.adjusted_comparison.terms import LOT, SUPPLIER, terms_for
from logbook.errors import TooLittleData
from logbook.kernels.arguments import BoolArray
from logbook.kernels.setup_model import NO_LEVEL, LevelComparison, SetupFit
from logbook.kernels.setup_model.contrasts import quantile
from logbook.kernels.setup_model.levels import Verdict
from logbook.kernels.setup_model.responses import rate_at
from logbook.kernels.unseen_confounding import e_value, e_value_of_interval
from logbook.vocabulary.defects import DefectKind

CONTROLS = replace(
    OTHERS,
    name="controls",
    label="Kinds that no backing causes",
    definition="Pieces with a defect that comes of needles, hooping, trimming or handling.",
)
NOTABLE = 1.25
"""Signs smaller than this ratio are no signs."""
SURE = 0.99
"""Level of the controls' intervals: a chance difference must not hold back what is right."""


@dataclass(frozen=True, slots=True)
class Unseen:
    """What something unseen might do to one comparison.

    Attributes
    ----------
    e_value, e_value_of_interval
        How strong it would have to be to be all there is, see
        :mod:`logbook.kernels.unseen_confounding`.
    work
        How many times the reference's the rate would be on the supplier's own jobs, by all that is
        recorded but the supplier.
    control_ratio, control_interval
        Supplier over reference of kinds that no backing causes, on the same jobs; NaN where they
        are not recorded often enough.
    undoes
        Whether a difference as strong as these signs would undo the verdict.
    """

    e_value: float
    e_value_of_interval: float
    work: float
    control_ratio: float = math.nan
    control_interval: Bounds = UNKNOWN
    undoes: bool = False

    @property
    def bias(self) -> float:
        """Factor that the signs say may be in the ratio: 1 where nothing speaks for any."""
        lower, upper = self.control_interval
        tried = math.isfinite(self.control_ratio)
        if tried and lower <= 1 <= upper:
            return 1.0
        sign = self.control_ratio if tried else self.work
        return sign if max(sign, 1 / sign) >= NOTABLE else 1.0


@dataclass(frozen=True, slots=True, eq=False)
class ControlFit:
    """The fit of the kinds that no backing causes."""

    rows: CodedRows
    fitted: SetupFit


def control_fit(cells: pl.DataFrame, controls: Sequence[DefectKind]) -> ControlFit | None:
    """Fit the kinds that no backing causes, together; None where too little is recorded."""
    present = set(cells["kind"].unique()) if "kind" in cells.columns else set()
    kinds = [each for each in controls if each.name in present]
    if not kinds:
        return None
    pooled = pooled_kinds(cells, kinds=kinds, separate=()).cells
    try:
        rows = coded_rows(pooled.with_columns(pl.lit(CONTROLS.name).alias("kind")), kind=CONTROLS)
    except TooLittleData:
        # Too few to tell anything by: then only the recorded work is gone by.
        return None
    return ControlFit(
        rows, fit_affordable(setups=rows.setups, terms=terms_for("within_designs", rows.varying))
    )


def unseen_of(
    found: LevelComparison,
    *,
    work: float,
    control: LevelComparison | None,
    verdict: Verdict,
    margin: float | None,
) -> Unseen:
    """Weigh the signs against a verdict."""
    lower, upper = _ratio_bounds(found, found.quantile)
    signs = Unseen(
        e_value=e_value(ratio=found.ratio),
        e_value_of_interval=e_value_of_interval(lower=lower, upper=upper),
        work=work,
        control_ratio=math.nan if control is None else control.ratio,
        control_interval=(
            UNKNOWN
            if control is None
            else _ratio_bounds(control, quantile(level=SURE, degrees=control.degrees))
        ),
    )
    allowed = 0.0 if margin is None else margin
    undone = {
        "better": upper / signs.bias >= 1,
        "worse": lower / signs.bias <= 1,
        "no_worse": (upper / signs.bias - 1) * found.reference_rate.estimate >= allowed,
    }
    # A sign the other way round makes a verdict the surer.
    return replace(signs, undoes=signs.bias != 1 and undone.get(verdict, False))


def work_ratio(rows: CodedRows, fitted: SetupFit, name: str, against: str, at: BoolArray) -> float:
    """Rate of one supplier's jobs over that of another's, the supplier itself and lots left out."""
    setups, bare = rows.setups, {SUPPLIER: NO_LEVEL, LOT: NO_LEVEL}
    codes = setups.factors[SUPPLIER]
    rates = []
    for each in (name, against):
        own = np.flatnonzero(at & (codes == rows.code(SUPPLIER, each)))
        factors = {key: values[own] for key, values in setups.factors.items()}
        factors |= {key: np.full(own.size, code) for key, code in bare.items()}
        slopes = {key: values[own] for key, values in setups.slopes.items()}
        moved = fitted.layout.rows(factors, slopes, like=fitted.rows.some(own), but=tuple(bare))
        eta = fitted.layout.predict(moved, fitted.coefficients) + fitted.level_shift
        rate = rate_at(eta, setups.measure)
        rates.append(float(np.average(rate, weights=setups.trials[own])))
    return rates[0] / rates[1]


def _ratio_bounds(found: LevelComparison, width: float) -> Bounds:
    reach = width * found.log_ratio_error
    return found.ratio * math.exp(-reach), found.ratio * math.exp(reach)
