"""What a rate is taken to depend on: the terms of the model, for comparing and for predicting.

For comparing (suppliers, factors) main effects are left fixed: shrinking them would hide what
is there. Suppliers are compared ``within_designs``: what is hard about a design would else count
against the backing that hard designs are given. Factors are not: density never varies within one.
For predicting the rate of a setup they are shrunk as far as the record says.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

from logbook.kernels.setup_model import Term
from logbook.runs.factors import COMPARED

Purpose: TypeAlias = Literal["comparing", "within_designs", "predicting"]

SUPPLIER = "backing_supplier"
LOT = "lot"
"""A lot within its supplier and backing: two suppliers may use one number."""
DENSITY = "density"

_LISTED_FIRST = (
    *("fabric", "backing", "weight_band", "backing_layers", SUPPLIER, "topping"),
    *("needle_nm", "needle_point", "hooping", "fabric_shade", "backing_shade"),
    *("density_band", "speed_band", "thread", "seen_at", "machine", "operator", "site"),
)
"""The order in which effects are told that nothing else sets an order to; new factors follow."""

MAIN_EFFECTS: tuple[str, ...] = tuple(
    sorted(
        (each.column for each in COMPARED),
        key=lambda name: _LISTED_FIRST.index(name) if name in _LISTED_FIRST else len(_LISTED_FIRST),
    )
)
"""Factors with an effect of their own; also those that runs are grouped by, lots apart."""

RECURRING_DESIGNS = "recurring designs"
"""Stands among what varies where designs come back often enough to be compared within."""

EFFECT_SD, INTERCEPT_SD = 1.5, 10.0
"""Prior standard deviations in log odds: a level four times the odds of another is nothing odd."""

_INTERACTIONS: tuple[tuple[str, ...], ...] = (
    ("fabric", "backing"),
    ("fabric", "weight_band"),
    ("fabric", "backing_layers"),
    ("fabric", "topping"),
    ("fabric", "hooping"),
    ("fabric", "needle_nm"),
    ("fabric", "needle_point"),
    ("fabric_shade", "backing_shade"),
    ("backing", "weight_band", "backing_layers"),
)
_DENSITY_SLOPES_BY = ("fabric", "backing", "weight_band", "backing_layers")
_BOUNDARY_AVOIDING = {"design", LOT, f"{SUPPLIER} x backing"}
_FIXED_WHEN_PREDICTING = {"fabric"}


def terms_for(purpose: Purpose, varying: frozenset[str]) -> tuple[Term, ...]:
    """List the terms.

    Parameters
    ----------
    purpose
        What the fit is for.
    varying
        Factors with more than one level, ``density`` where it was recorded, and
        ``RECURRING_DESIGNS`` where they are.

    Notes
    -----
    A factor that never varies has no term, nor has a combination with it.
    """
    comparing = purpose != "predicting"
    fixed = set(MAIN_EFFECTS) if comparing else _FIXED_WHEN_PREDICTING
    combined = [
        ("design",),
        (LOT,),
        (SUPPLIER, "backing"),
        ("month",),
        *_INTERACTIONS,
    ]
    terms = [Term("level", sd=INTERCEPT_SD)]
    terms += [
        Term(name, (name,), sd=EFFECT_SD if name in fixed else None)
        for name in MAIN_EFFECTS
        if name in varying
    ]
    for names in combined:
        if varying.issuperset(names):
            name = " x ".join(names)
            within = purpose == "within_designs" and RECURRING_DESIGNS in varying
            within = within and name == "design"
            terms.append(
                Term(name, names, sd=EFFECT_SD)
                if within
                else Term(name, names, boundary_avoiding=comparing or name in _BOUNDARY_AVOIDING)
            )
    if DENSITY in varying:
        terms += [
            Term(f"density on {name}", (name,), slope=DENSITY, boundary_avoiding=comparing)
            for name in _DENSITY_SLOPES_BY
            if name in varying
        ]
    return tuple(terms)
