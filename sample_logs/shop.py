"""Who works in the shop, on what, for whom: people, machines, fabrics, customers and designs."""

import datetime as dt
from dataclasses import dataclass
from typing import Literal

import numpy as np

__all__ = [
    "CUSTOMERS",
    "FABRICS",
    "MACHINES",
    "OPERATORS",
    "SHIFTS",
    "SHOP_NAME",
    "Design",
    "Fabric",
    "Machine",
    "Operator",
    "Shift",
    "draw_designs",
]

SHOP_NAME = "Hollow Lane"


@dataclass(frozen=True, slots=True)
class Fabric:
    """A fabric class with the attributes that the shop keeps in its materials list."""

    name: str
    stretch: Literal["none", "low", "high"]
    pile_mm: float
    sheerness: Literal["opaque", "semi", "sheer"]
    gsm: int
    share: float
    """Share of jobs, before the season is counted in."""
    winter_lean: float
    """Log of how much more often it is sewn at midwinter than on average."""
    shades: tuple[float, float, float]
    """Chance of a light, mid and dark garment."""


FABRICS: tuple[Fabric, ...] = (
    Fabric("pique polo", "low", 0.0, "semi", 210, 0.17, -0.25, (0.40, 0.20, 0.40)),
    Fabric("performance polo", "high", 0.0, "sheer", 140, 0.17, -0.35, (0.50, 0.20, 0.30)),
    Fabric("jersey T-shirt", "high", 0.0, "semi", 170, 0.11, -0.30, (0.40, 0.25, 0.35)),
    Fabric("sweatshirt fleece", "low", 0.0, "opaque", 300, 0.13, 0.30, (0.15, 0.30, 0.55)),
    Fabric("polar fleece", "low", 4.0, "opaque", 280, 0.10, 0.50, (0.10, 0.30, 0.60)),
    Fabric("terry towel", "low", 4.0, "opaque", 450, 0.07, 0.00, (0.60, 0.25, 0.15)),
    Fabric("woven shirt", "none", 0.0, "semi", 125, 0.08, 0.00, (0.70, 0.20, 0.10)),
    Fabric("twill", "none", 0.0, "opaque", 280, 0.07, 0.10, (0.15, 0.35, 0.50)),
    Fabric("structured cap", "none", 0.0, "opaque", 300, 0.06, -0.30, (0.15, 0.25, 0.60)),
    Fabric("nylon shell", "none", 0.0, "semi", 90, 0.04, 0.30, (0.10, 0.25, 0.65)),
)


@dataclass(frozen=True, slots=True)
class Machine:
    """One machine: how many heads run together and how fast flat goods are sewn on it."""

    name: str
    heads: int
    flat_speed_spm: int
    sews_caps: bool


MACHINES: tuple[Machine, ...] = (
    Machine("M1 eight-head", 8, 780, sews_caps=False),
    Machine("M2 six-head", 6, 760, sews_caps=True),
    Machine("M3 four-head", 4, 800, sews_caps=True),
    Machine("M4 single", 1, 720, sews_caps=True),
    Machine("M5 single", 1, 700, sews_caps=False),
)


@dataclass(frozen=True, slots=True)
class Operator:
    """One operator and the chance of finding them at each machine, in the order of `MACHINES`."""

    name: str
    at_machine: tuple[float, float, float, float, float]


OPERATORS: tuple[Operator, ...] = (
    Operator("Ines R.", (0.55, 0.10, 0.05, 0.02, 0.02)),
    Operator("Marek T.", (0.25, 0.40, 0.10, 0.03, 0.03)),
    Operator("Noor A.", (0.10, 0.30, 0.25, 0.10, 0.10)),
    Operator("Bea L.", (0.04, 0.10, 0.40, 0.15, 0.15)),
    Operator("Tomas V.", (0.04, 0.06, 0.12, 0.35, 0.30)),
    Operator("Yusuf D.", (0.01, 0.02, 0.04, 0.25, 0.30)),
    Operator("Ada K.", (0.01, 0.02, 0.04, 0.10, 0.10)),
)


@dataclass(frozen=True, slots=True)
class Shift:
    """Part of the day in which one crew hoops and trims; operators stay at their machines."""

    name: str
    begins: dt.time
    ends: dt.time


SHIFTS: tuple[Shift, ...] = (
    Shift("early", dt.time(6, 0), dt.time(12, 30)),
    Shift("late", dt.time(12, 30), dt.time(20, 0)),
)

CUSTOMERS: tuple[str, ...] = (
    "Larkfield Primary",
    "Saltmarsh Rowing",
    "Brindle Bakery",
    "Copperbeck Joinery",
    "Northmoor Golf",
    "Fennel Kitchens",
    "Pebble Nursery",
    "Ashgrove Dental",
    "Windle Ferries",
    "Tarn Cycling",
    "Greyhen Brewery",
    "Marlow Street Band",
    "Osprey Lift Service",
    "Quarry Hotel",
    "Sorrel Landscapes",
    "Thistle Vets",
    "Umber Roofing",
    "Vale Harriers",
    "Wren Couriers",
    "Yarrow Spa",
    "Juniper Choir",
    "Kestrel Glazing",
    "Dunlin Sailing",
    "Elderholt College",
)

MOTIFS = (
    *("Heron", "Anchor", "Oak leaf", "Lantern", "Foxglove", "Compass", "Wheatsheaf", "Otter"),
    *("Bridge", "Beacon", "Kingfisher", "Acorn", "Mill wheel", "Swift", "Thimble", "Hare"),
    *("Rowan", "Tiller", "Badger", "Clover", "Harbour", "Lighthouse", "Pine", "Ferry"),
)
SHAPES = ("crest", "roundel", "lettering", "badge", "monogram", "small mark")
THREADS = (
    ("40 polyester", 0.74),
    ("40 rayon", 0.15),
    ("60 polyester", 0.08),
    ("40 metallic", 0.03),
)


@dataclass(frozen=True, slots=True)
class Design:
    """One design: what its stitch file says, and how difficult it is beyond what the file says."""

    name: str
    customer: str
    fabrics: tuple[str, ...]
    thread: str
    stitches_per_piece: int
    density: float
    """Stitches per mm² of the densest square centimetre."""
    row_spacing_mm: float
    difficulty: float
    """Standard normal; operators sense it, no column of the sheet holds it."""
    popularity: float


def draw_designs(rng: np.random.Generator) -> tuple[Design, ...]:
    """Return the shop's 72 designs, three for each customer.

    Every fabric is among the fabrics of many designs: a design is sewn on three fabrics, drawn by
    their share of the jobs.
    """
    shares = np.array([fabric.share for fabric in FABRICS])
    threads = np.array([share for _, share in THREADS])
    designs = []
    for index in range(3 * len(CUSTOMERS)):
        motif = MOTIFS[index % len(MOTIFS)]
        shape = SHAPES[(index // len(MOTIFS) + index) % len(SHAPES)]
        fabrics = rng.choice(len(FABRICS), size=3, replace=False, p=shares / shares.sum())
        density = round(float(np.clip(rng.normal(5.0, 1.0), 2.8, 7.6)), 1)
        designs.append(
            Design(
                name=f"{motif} {shape}",
                customer=CUSTOMERS[index % len(CUSTOMERS)],
                fabrics=tuple(FABRICS[i].name for i in fabrics),
                thread=THREADS[rng.choice(len(THREADS), p=threads)][0],
                stitches_per_piece=int(round(float(np.exp(rng.normal(8.75, 0.40))), -1)),
                density=density,
                row_spacing_mm=round(float(0.40 - 0.012 * (density - 5) + rng.normal(0, 0.01)), 2),
                difficulty=float(rng.normal()),
                popularity=float(np.exp(rng.normal(0, 0.6))),
            )
        )
    return tuple(designs)
