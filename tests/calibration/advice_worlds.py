"""Shops to ask for advice: ordinary ones, ones in which nothing matters, ones with a trap."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from unittest.mock import patch

import numpy as np
from invented_shops import (
    BACKING_COUNT,
    FABRIC_COUNT,
    FABRICS,
    KINDS,
    LOADINGS,
    Shop,
    make_shop,
)

NOTHING_MATTERS = {
    name: replace(
        load,
        **dict.fromkeys(
            ("deficit", "excess", "odd_pairs", "topping", "needle", "hooping", "shade"), 0.0
        ),
        supplier=0.0,
    )
    for name, load in LOADINGS.items()
}
TRAPS = ("trap", "heavy trap")
"""A backing, a hooping and films that help on most fabrics and do harm on two."""
NULL = ("nothing matters", "nothing matters, heavy")
"""No part of the setup matters to any kind; lots, designs, machines and people do."""
Trap = dict[str, tuple[str, ...]]
"""Column of the run sheet → fabrics on which its usual effect is turned round."""


@contextmanager
def world(scenario: str, seed: int) -> Iterator[tuple[Shop, Trap]]:
    """Draw a shop; what the kinds are moved by is as the scenario says while this is open."""
    base = "heavy" if "heavy" in scenario else scenario
    loads = NOTHING_MATTERS if scenario in NULL else {}
    base = {"trap": "base", "nothing matters": "nullsup"}.get(base, base)
    with patch.dict(LOADINGS, loads):
        shop = make_shop(seed, base)
        if scenario in NULL:
            shop = replace(
                shop, supplier=0 * shop.supplier, supplier_backing=0 * shop.supplier_backing
            )
        yield _trapped(shop, seed) if scenario in TRAPS else (shop, {})


def _trapped(shop: Shop, seed: int) -> tuple[Shop, Trap]:
    rng = np.random.default_rng([seed, 5150])
    backing = int(rng.integers(BACKING_COUNT))
    backed, hooped, topped = (rng.choice(FABRIC_COUNT, 2, replace=False) for _ in range(3))
    pairs = shop.fabric_backing.copy()
    for kind in ("puckering", "gaps", "shadowing"):
        pairs[KINDS.index(kind), :, backing] -= 0.8
        pairs[KINDS.index(kind), backed, backing] += 1.6
    delicate, pile = shop.delicate.copy(), shop.pile.copy()
    delicate[hooped], pile[topped] = -1.0, -0.6
    trap = {"backing": backed, "hooping": hooped, "topping": topped}
    return (
        replace(shop, fabric_backing=pairs, delicate=delicate, pile=pile),
        {name: tuple(FABRICS[code] for code in codes) for name, codes in trap.items()},
    )
