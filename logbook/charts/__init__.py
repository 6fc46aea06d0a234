"""One file a result: Result → figure (of designs: a drawing in SVG). Charts never calculate."""

from __future__ import annotations

from types import ModuleType

from logbook.charts import (
    advice,
    control,
    design,
    factor_curves,
    factors,
    pareto,
    prices,
    suppliers,
)

CHARTS: tuple[ModuleType, ...] = (
    advice,
    control,
    design,
    factor_curves,
    factors,
    pareto,
    prices,
    suppliers,
)
