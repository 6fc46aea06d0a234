"""One file a result: Result → figure. Charts never calculate."""

from __future__ import annotations

from types import ModuleType

from logbook.charts import advice, control, factors, pareto, prices, suppliers

CHARTS: tuple[ModuleType, ...] = (
    advice,
    control,
    factors,
    pareto,
    prices,
    suppliers,
)
