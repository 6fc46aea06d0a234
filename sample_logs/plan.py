"""The year's work: jobs come in, are laid on the machines and sewn in runs, hour by hour."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from sample_logs.setups import (
    Backing,
    choose_backing,
    choose_backing_shade,
    choose_hooping,
    choose_needle,
    choose_offer,
    choose_speed,
    choose_topping,
)
from sample_logs.shop import FABRICS, MACHINES, OPERATORS, SHOP_NAME, Design, Fabric, Machine
from sample_logs.supplies import Lot, lot_in_use
from sample_logs.working_days import hours_open, working_days

__all__ = ["plan_runs"]

SHADES = ("light", "mid", "dark")
SEEN_AT = ("off_hoop", "pressed", "in_hoop", "washed")
Value = str | int | float | bool | dt.datetime | None


@dataclass(slots=True)
class Job:
    """One order on one machine, with the setup it was begun with."""

    number: int
    design: Design
    fabric: Fabric
    pieces_left: int
    shade: str
    backing: Backing
    needle: tuple[int, str]
    hooping: str
    speed_spm: int


@dataclass(slots=True)
class Shop:
    """What the plan needs at hand, and what it remembers: recipes used before, the job number."""

    rng: np.random.Generator
    designs: Sequence[Design]
    lots: Sequence[Lot]
    recipes: dict[tuple[str, str], Backing]
    next_job: int = 1041


def plan_runs(
    rng: np.random.Generator,
    designs: Sequence[Design],
    lots: Sequence[Lot],
    first: dt.date,
    last: dt.date,
) -> pl.DataFrame:
    """Return one row a run, in the order in which they end: everything known before the outcome."""
    shop = Shop(rng, designs, lots, {})
    waiting: dict[str, Job] = {}
    rows: list[dict[str, Value]] = []
    for day in working_days(first, last):
        for index, machine in enumerate(MACHINES):
            rows += _machine_day(shop, waiting, day, index, machine)
    frame = pl.DataFrame(rows, infer_schema_length=None).sort(
        "finished_at", "machine", maintain_order=True
    )
    refs = pl.format("R-{}", (pl.int_range(pl.len()) + 1).cast(pl.String).str.zfill(6))
    return frame.select(refs.alias("run_ref"), pl.all())


def _machine_day(
    shop: Shop, waiting: dict[str, Job], day: dt.date, index: int, machine: Machine
) -> list[dict[str, Value]]:
    """Fill one machine's day with runs; what is left of its job waits for the next day."""
    rng = shop.rng
    start, stop = hours_open(day, index)
    chances = np.array([operator.at_machine[index] for operator in OPERATORS])
    operator = OPERATORS[rng.choice(len(OPERATORS), p=chances / chances.sum())].name
    clock = start + rng.uniform(0.0, 0.4)
    rows: list[dict[str, Value]] = []
    while clock < stop - 0.5:
        job = waiting.pop(machine.name, None) or _take_job(shop, machine, day)
        pieces = min(job.pieces_left, machine.heads * int(rng.integers(5, 12)))
        loads = -(-pieces // machine.heads)
        minutes = loads * _minutes_a_load(rng, machine, job)
        ends = clock + minutes / 60
        if ends > stop + 0.6 and rows:
            waiting[machine.name] = job
            break
        if clock < 12.25 < ends:
            ends += 0.5
        row = _run(shop, job, machine, operator, day, pieces)
        row["run_minutes"] = round(minutes)
        row["finished_at"] = _at(day, ends)
        rows.append(row)
        job.pieces_left -= pieces
        if job.pieces_left > 0:
            waiting[machine.name] = job
        clock = ends + rng.uniform(0.05, 0.25)
    return rows


def _at(day: dt.date, hours: float) -> dt.datetime:
    return dt.datetime.combine(day, dt.time()) + dt.timedelta(minutes=round(hours * 60))


def _minutes_a_load(rng: np.random.Generator, machine: Machine, job: Job) -> float:
    sewing = job.design.stitches_per_piece / job.speed_spm + rng.uniform(0.8, 1.8)
    hooping = 0.6 + 0.35 * machine.heads
    return float((sewing + hooping) * np.exp(rng.normal(0, 0.08)))


def _take_job(shop: Shop, machine: Machine, day: dt.date) -> Job:
    """Take the next order: what is sewn follows the season, how it is sewn mostly the last time."""
    rng = shop.rng
    winter = float(np.cos(2 * np.pi * (day.timetuple().tm_yday - 5) / 365))
    fabrics = [f for f in FABRICS if machine.sews_caps or f.name != "structured cap"]
    weights = np.array([f.share * np.exp(f.winter_lean * winter) for f in fabrics])
    fabric = fabrics[rng.choice(len(fabrics), p=weights / weights.sum())]
    able = [design for design in shop.designs if fabric.name in design.fabrics]
    popularity = np.array([design.popularity for design in able])
    design = able[rng.choice(len(able), p=popularity / popularity.sum())]
    recipe = shop.recipes.get((design.name, fabric.name))
    if recipe is None or rng.random() < 0.35:
        recipe = choose_backing(rng, fabric, design)
        shop.recipes[(design.name, fabric.name)] = recipe
    loads = float(np.exp(rng.normal(2.2, 0.65)))
    shop.next_job += 1
    return Job(
        number=shop.next_job,
        design=design,
        fabric=fabric,
        pieces_left=max(1, round(loads * machine.heads * rng.uniform(0.75, 1.0))),
        shade=SHADES[rng.choice(3, p=np.array(fabric.shades))],
        backing=recipe,
        needle=choose_needle(rng, fabric, design),
        hooping=choose_hooping(rng, fabric, recipe),
        speed_spm=choose_speed(rng, machine, fabric, design),
    )


def _run(
    shop: Shop, job: Job, machine: Machine, operator: str, day: dt.date, pieces: int
) -> dict[str, Value]:
    """Write down one run's setup; the garment's shade may change within the job."""
    rng, design, backing = shop.rng, job.design, job.backing
    if rng.random() < 0.25:
        job.shade = SHADES[rng.choice(3, p=np.array(job.fabric.shades))]
    offer = choose_offer(rng, backing, job.fabric, design, day)
    lot = None if offer is None else lot_in_use(shop.lots, offer, day, rng)
    sheer = job.fabric.sheerness == "sheer" or (
        job.fabric.sheerness == "semi" and job.shade == "light" and job.fabric.gsm < 130
    )
    return {
        "finished_at": None,
        "site": SHOP_NAME,
        "machine": machine.name,
        "operator": operator,
        "job": f"J{job.number} {design.customer}",
        "customer": design.customer,
        "design": design.name,
        "thread": design.thread,
        "head_count": min(machine.heads, pieces),
        "fabric": job.fabric.name,
        "fabric_shade": job.shade,
        "fabric_sheer": sheer,
        "backing": backing.backing,
        "backing_gsm": backing.gsm,
        "backing_layers": backing.layers,
        "backing_shade": choose_backing_shade(rng, backing, job.fabric, job.shade),
        "backing_supplier": None if offer is None else offer.supplier,
        "backing_lot": None if lot is None else lot.name,
        "topping": choose_topping(rng, job.fabric, day),
        "hooping": job.hooping,
        "needle_nm": job.needle[0],
        "needle_point": job.needle[1],
        "speed_spm": job.speed_spm,
        "density": design.density,
        "row_spacing_mm": design.row_spacing_mm,
        "stitches_per_piece": design.stitches_per_piece,
        "stitches_sewn": design.stitches_per_piece * pieces,
        "pieces_sewn": pieces,
        "run_minutes": None,
        "seen_at": SEEN_AT[rng.choice(4, p=np.array([0.70, 0.20, 0.07, 0.03]))],
    }
