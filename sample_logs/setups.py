"""Which setup a job gets: the habits of the shop, difficult goods getting the stronger backing.

Backing, needle, topping, hooping and supplier all depend on the fabric and on how hard the job is
thought to be. Crude comparisons of any of them are therefore misleading, as they are in any shop.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sample_logs.shop import Design, Fabric, Machine
from sample_logs.supplies import DOGWOOD_FROM, LAST_WEEK, OFFERS, Offer

__all__ = [
    "TOPPING_FROM",
    "Backing",
    "choose_backing",
    "choose_backing_shade",
    "choose_hooping",
    "choose_needle",
    "choose_offer",
    "choose_speed",
    "choose_topping",
]

TOPPING_FROM = dt.date(2026, 7, 20)
"""Monday of 2026-W30: from here on fleece and towels get film as a rule."""


@dataclass(frozen=True, slots=True)
class Backing:
    """Backing type, weight and layers of one setup; no weight where there is no backing."""

    backing: str
    gsm: int | None
    layers: int


# For each fabric: backing, how often it is taken for an ordinary job, and the log of how much more
# often for each unit that the job is thought harder.
BACKINGS: dict[str, tuple[tuple[str, float, float], ...]] = {
    "pique polo": (("sheer_mesh", 0.50, 0.1), ("cut_away", 0.38, 0.5), ("tear_away", 0.12, -0.6)),
    "performance polo": (
        ("sheer_mesh", 0.78, 0.1),
        ("fusible_sheer_mesh", 0.12, 0.2),
        ("cut_away", 0.08, 0.6),
        ("tear_away", 0.02, -0.4),
    ),
    "jersey T-shirt": (
        ("cut_away", 0.48, 0.4),
        ("sheer_mesh", 0.38, 0.0),
        ("tear_away", 0.14, -0.6),
    ),
    "sweatshirt fleece": (("cut_away", 0.75, 0.3), ("tear_away", 0.25, -0.5)),
    "polar fleece": (("cut_away", 0.66, 0.3), ("tear_away", 0.34, -0.4)),
    "terry towel": (
        ("tear_away", 0.50, -0.3),
        ("wash_away_tear_away", 0.27, 0.0),
        ("cut_away", 0.18, 0.6),
        ("water_soluble", 0.05, 0.0),
    ),
    "woven shirt": (("tear_away", 0.66, -0.2), ("sheer_mesh", 0.28, 0.2), ("cut_away", 0.06, 0.6)),
    "twill": (("tear_away", 0.78, -0.2), ("cut_away", 0.19, 0.5), ("adhesive", 0.03, 0.0)),
    "structured cap": (("tear_away", 0.85, 0.2), ("none", 0.15, -0.4)),
    "nylon shell": (("tear_away", 0.62, -0.3), ("cut_away", 0.33, 0.4), ("adhesive", 0.05, 0.0)),
}
# Chance of the heavier of a backing's two weights for an ordinary job, as log odds.
HEAVIER: dict[str, tuple[int, int, float]] = {
    "sheer_mesh": (40, 50, 0.9),
    "cut_away": (60, 85, -0.3),
    "tear_away": (45, 60, -0.7),
}
# How hard a fabric is thought to be when the supplier is picked, on the scale of one density step.
HARDNESS: dict[str, float] = {
    "pique polo": -0.8,
    "performance polo": 1.3,
    "jersey T-shirt": 0.6,
    "nylon shell": 0.4,
    "woven shirt": -1.2,
}


def _odds(log_odds: float) -> float:
    return float(1 / (1 + np.exp(-log_odds)))


def choose_backing(rng: np.random.Generator, fabric: Fabric, design: Design) -> Backing:
    """Return the backing an operator thinks right: stronger for dense and difficult designs."""
    need = 0.7 * (design.density - 5) + 0.6 * design.difficulty
    names, weights, leans = zip(*BACKINGS[fabric.name], strict=True)
    chances = np.array(weights) * np.exp(np.array(leans) * need)
    backing: str = names[rng.choice(len(names), p=chances / chances.sum())]
    if backing == "none":
        return Backing("none", None, 0)
    gsm = next(offer.gsm for offer in OFFERS if offer.backing == backing)
    if backing in HEAVIER:
        light, heavy, log_odds = HEAVIER[backing]
        gsm = heavy if rng.random() < _odds(log_odds + 0.8 * need) else light
    second = {"sheer_mesh": -1.6 + 0.8 * need, "tear_away": -2.2 + 0.5 * need}.get(backing, -4.0)
    if fabric.name == "nylon shell" and backing == "tear_away":
        second = 1.0
    return Backing(backing, gsm, 2 if rng.random() < _odds(second) else 1)


def choose_offer(
    rng: np.random.Generator, backing: Backing, fabric: Fabric, design: Design, day: dt.date
) -> Offer | None:
    """Return whose backing is taken: Birch, thought to be the better, for the hard knit jobs.

    The lean towards Birch holds for the sheer mesh and the cut-away; tear-away is taken as it comes
    to hand. Dogwood is tried from its first delivery on, and widely in the last week, when a pallet
    bought for its price came in.
    """
    offers = [
        offer
        for offer in OFFERS
        if (offer.backing, offer.gsm) == (backing.backing, backing.gsm)
        and (offer.supplier != "Dogwood" or day >= DOGWOOD_FROM)
    ]
    if not offers:
        return None
    hard = HARDNESS.get(fabric.name, 0.0) + 0.15 * (design.density - 5)
    lean = 1.0 if backing.backing in ("sheer_mesh", "cut_away") else 0.0
    last_week = day >= LAST_WEEK
    liking = {
        "Alder": 0.5 - 0.75 * lean * hard,
        "Birch": 0.2 + 0.75 * lean * hard,
        "Cedar": 2.0 if last_week and backing.backing == "cut_away" else 0.1,
        "Dogwood": 0.6 if last_week else -1.7,
    }
    chances = np.exp([liking[offer.supplier] for offer in offers])
    return offers[rng.choice(len(offers), p=chances / chances.sum())]


def choose_backing_shade(
    rng: np.random.Generator, backing: Backing, fabric: Fabric, shade: str
) -> str | None:
    """Return the backing's shade: mostly matched to the garment, at times what is on the shelf."""
    if backing.backing == "none":
        return None
    if backing.backing in ("wash_away_tear_away", "water_soluble", "adhesive"):
        return "white"
    if backing.backing in ("sheer_mesh", "fusible_sheer_mesh"):
        if shade == "dark":
            return _pick(rng, ("black", "white"), (0.78, 0.22))
        beige = 0.30 if fabric.sheerness == "sheer" and shade == "light" else 0.08
        return _pick(rng, ("beige", "black", "white"), (beige, 0.10, 0.90 - beige))
    black = 0.55 if shade == "dark" else 0.03
    return _pick(rng, ("black", "white"), (black, 1 - black))


def choose_topping(rng: np.random.Generator, fabric: Fabric, day: dt.date) -> str:
    """Return the topping: film on pile is rare before `TOPPING_FROM` and the rule after it.

    In the last week the shop begins to put it on pique polos too.
    """
    if fabric.pile_mm > 1:
        film = 0.92 if day >= TOPPING_FROM else 0.10
    else:
        pique = 0.85 if day >= LAST_WEEK else 0.25
        film = {"pique polo": pique, "sweatshirt fleece": 0.08}.get(fabric.name, 0.02)
    heat_away = 0.01
    return _pick(
        rng,
        ("water_soluble_film", "heat_away_film", "none"),
        (film, heat_away, 1 - film - heat_away),
    )


def choose_needle(rng: np.random.Generator, fabric: Fabric, design: Design) -> tuple[int, str]:
    """Return needle size and point: ball points for knits, but for a sharp left in by mistake."""
    knit = fabric.stretch != "none"
    if knit:
        point = _pick(rng, ("light_ball", "medium_ball", "sharp"), (0.70, 0.20, 0.10))
    else:
        point = _pick(rng, ("sharp", "light_ball"), (0.92, 0.08))
    if design.thread == "60 polyester":
        return 65, point
    if design.thread == "40 metallic":
        return 80, point
    thin = fabric.gsm < 180
    sizes = (0.50, 0.42, 0.08) if thin else (0.10, 0.70, 0.20)
    return int(_pick(rng, ("70", "75", "80"), sizes)), point


def choose_hooping(rng: np.random.Generator, fabric: Fabric, backing: Backing) -> str:
    """Return how the piece is held: caps clamped, thick pile often floated, the rest hooped."""
    if fabric.name == "structured cap":
        return "clamped"
    if backing.backing == "adhesive":
        return "adhesive"
    floated = {"terry towel": 0.30, "polar fleece": 0.12, "nylon shell": 0.08}.get(
        fabric.name, 0.02
    )
    return _pick(rng, ("floated", "adhesive", "hooped"), (floated, 0.02, 0.98 - floated))


def choose_speed(rng: np.random.Generator, machine: Machine, fabric: Fabric, design: Design) -> int:
    """Return the set speed in stitches a minute, in tens."""
    speed = float(machine.flat_speed_spm)
    if fabric.name == "structured cap":
        speed -= 150
    if design.thread == "40 metallic":
        speed -= 170
    if design.thread == "60 polyester":
        speed -= 60
    return int(round(float(np.clip(speed + rng.normal(0, 45), 420, 980)), -1))


def _pick(rng: np.random.Generator, names: Sequence[str], chances: Sequence[float]) -> str:
    weights = np.array(chances)
    return names[rng.choice(len(names), p=weights / weights.sum())]
