"""Each planted truth shows in plain counts on the year, as ``truth.json`` says."""

import datetime as dt
import json
import math
from typing import Any

import numpy as np
import polars as pl
import pytest

from sample_logs import FOLDER
from sample_logs.simulate import make_year

WEEK = pl.col("finished_at").dt.strftime("%G-W%V")


@pytest.fixture(scope="module")
def runs() -> pl.DataFrame:
    return make_year().sheet.with_columns(WEEK.alias("week"))


@pytest.fixture(scope="module")
def truth() -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads((FOLDER / "truth.json").read_text("utf-8"))
    return loaded


def rate(frame: pl.DataFrame, kind: str) -> float:
    known = frame.drop_nulls([kind, "pieces_inspected"])
    return float(known[kind].sum() / known["pieces_inspected"].sum())


def odds_ratio(runs: pl.DataFrame, supplier: str, backing: str, strata: list[str]) -> float:
    """Odds ratio of puckering against Alder, pooled after Mantel and Haenszel (1959)."""
    cells = (
        runs.drop_nulls(["puckering", "pieces_inspected", *strata])
        .filter(pl.col("backing") == backing, pl.col("backing_supplier").is_in([supplier, "Alder"]))
        .group_by(*strata)
        .agg(
            pl.col(column)
            .filter(pl.col("backing_supplier") == name)
            .sum()
            .alias(f"{column}_{name}")
            for column in ("puckering", "pieces_inspected")
            for name in (supplier, "Alder")
        )
    )
    bad, reference_bad = cells[f"puckering_{supplier}"], cells["puckering_Alder"]
    pieces, reference = cells[f"pieces_inspected_{supplier}"], cells["pieces_inspected_Alder"]
    total = pieces + reference
    above = (bad * (reference - reference_bad) / total).sum()
    below = (reference_bad * (pieces - bad) / total).sum()
    return float(above / below)


ALIKE = ["fabric", "backing", "backing_gsm"]


def test_birch_looks_worse_than_alder_but_is_not(runs: pl.DataFrame) -> None:
    assert odds_ratio(runs, "Birch", "sheer_mesh", ["backing"]) > 1.3
    assert odds_ratio(runs, "Birch", "sheer_mesh", ALIKE) < 1.0


def test_birch_gets_the_stretchy_dense_jobs(runs: pl.DataFrame) -> None:
    mesh = runs.filter(pl.col("backing") == "sheer_mesh")
    stretchy = {
        supplier: mesh.filter(pl.col("backing_supplier") == supplier)["fabric"]
        .is_in(["performance polo", "jersey T-shirt"])
        .mean()
        for supplier in ("Alder", "Birch")
    }
    assert stretchy["Birch"] > 2 * stretchy["Alder"]


def test_cedar_is_worse_on_sheer_mesh_only(runs: pl.DataFrame, truth: dict[str, Any]) -> None:
    planted = truth["suppliers"]["Cedar"]["puckering_odds_ratio_against_alder"]
    assert planted["sheer_mesh"] == pytest.approx(1.8, abs=0.05)
    found = odds_ratio(runs, "Cedar", "sheer_mesh", ALIKE)
    assert abs(math.log(found / planted["sheer_mesh"])) < 0.25
    assert planted["cut_away"] == 1.0
    assert 0.75 < odds_ratio(runs, "Cedar", "cut_away", ALIKE) < 1.33


def test_dogwood_is_cheap_new_and_little_used_before_the_last_week(
    runs: pl.DataFrame, truth: dict[str, Any]
) -> None:
    dogwood = runs.filter(pl.col("backing_supplier") == "Dogwood")
    assert dogwood["week"].min() >= truth["suppliers"]["Dogwood"]["delivers_from"]
    before = runs.filter(pl.col("week") >= "2026-W22", pl.col("week") < "2026-W46")
    last = runs.filter(pl.col("week") == "2026-W46")
    share_before = (before["backing_supplier"] == "Dogwood").mean()
    share_last = (last["backing_supplier"] == "Dogwood").mean()
    assert share_before < 0.08
    assert share_last > 3 * share_before


def test_bad_lots_raise_gaps_in_their_weeks(runs: pl.DataFrame, truth: dict[str, Any]) -> None:
    for bad in truth["bad_lots"]:
        own = runs.filter(pl.col("backing_lot") == bad["lot"])
        others = runs.filter(
            pl.col("backing") == bad["backing"], pl.col("backing_lot") != bad["lot"]
        )
        assert own["week"].min() == bad["from_week"]
        assert own["week"].max() == bad["to_week"]
        assert own["backing_supplier"].unique().to_list() == [bad["supplier"]]
        assert rate(own, "gaps") > 3 * rate(others, "gaps")


def test_thread_breaks_of_one_machine_rise(runs: pl.DataFrame, truth: dict[str, Any]) -> None:
    drift = truth["drift"]
    weekly = (
        runs.filter(pl.col("week") >= drift["from_week"])
        .with_columns((pl.col("machine") == drift["machine"]).alias("drifts"))
        .group_by("drifts", "week")
        .agg(
            pl.col("thread_breaks").sum().alias("breaks"),
            (pl.col("stitches_per_piece") * pl.col("pieces_sewn")).sum().alias("stitches"),
        )
        .sort("week")
    )
    slopes = {
        drifts: np.polyfit(
            np.arange(len(part)), np.log((part["breaks"] / part["stitches"]).to_numpy()), 1
        )[0]
        for (drifts,), part in weekly.group_by("drifts", maintain_order=True)
    }
    assert slopes[True] == pytest.approx(math.log(drift["rate_ratio_per_week"]), abs=0.03)
    assert abs(slopes[False]) < 0.03


def test_film_on_pile_made_sinking_fall(runs: pl.DataFrame, truth: dict[str, Any]) -> None:
    change = truth["change_that_helped"]
    pile = runs.filter(pl.col("fabric").is_in(change["fabrics"]))
    before = pile.filter(pl.col("week") < change["from_week"])
    after = pile.filter(pl.col("week") >= change["from_week"])
    assert (before["topping"] == "water_soluble_film").mean() < 0.2
    assert (after["topping"] == "water_soluble_film").mean() > 0.8
    assert rate(before, "sinking") > 2.5 * rate(after, "sinking")


def test_difficult_designs_get_cut_away_yet_cut_away_puckers_less(runs: pl.DataFrame) -> None:
    jersey = runs.filter(pl.col("fabric") == "jersey T-shirt")
    cut_away = jersey.filter(pl.col("backing") == "cut_away")
    tear_away = jersey.filter(pl.col("backing") == "tear_away")
    denser = cut_away["density"].drop_nulls().mean()
    lighter = tear_away["density"].drop_nulls().mean()
    assert isinstance(denser, float)
    assert isinstance(lighter, float)
    assert denser > lighter
    assert rate(cut_away, "puckering") < rate(tear_away, "puckering")


def test_black_mesh_shadows_most_under_sheer_light_garments(runs: pl.DataFrame) -> None:
    sheer = runs.filter(
        pl.col("fabric_sheer"),
        pl.col("fabric_shade") == "light",
        pl.col("backing") == "sheer_mesh",
    )
    by_shade = {
        shade: rate(sheer.filter(pl.col("backing_shade") == shade), "shadowing")
        for shade in ("beige", "white", "black")
    }
    assert by_shade["beige"] < by_shade["white"] < by_shade["black"] / 2


def test_last_week_has_its_signals_and_is_else_as_usual(
    runs: pl.DataFrame, truth: dict[str, Any]
) -> None:
    last = runs.filter(pl.col("week") == "2026-W46")
    before = runs.filter(pl.col("week") >= "2026-W20", pl.col("week") < "2026-W46")
    expected = rate(before, "gaps") * last["pieces_inspected"].sum()
    assert last["gaps"].sum() > expected + 5 * math.sqrt(expected)
    signals = truth["last_week"]["gaps"]
    neither = last.filter(
        pl.col("backing_lot").ne_missing(signals["lot"]),
        pl.col("machine") != signals["machine_with_worn_hoop"],
    )
    assert rate(neither, "gaps") < 1.5 * rate(before, "gaps")
    for kind in ("puckering", "sinking", "coverage", "looping", "hoop_marks", "misplacement"):
        usual = rate(before, kind) * last["pieces_inspected"].sum()
        assert abs(last[kind].sum() - usual) < 3 * math.sqrt(2 * usual), kind


def test_overdue_needles_skip(truth: dict[str, Any]) -> None:
    old = truth["old_needles"]
    runs = make_year().runs
    overdue = pl.col("needle_age") >= old["needle_age_stitches_from"]
    assert 0.1 < runs.select(overdue.mean()).item() < 0.25
    ratio = rate(runs.filter(overdue), old["kind"]) / rate(runs.filter(~overdue), old["kind"])
    assert abs(math.log(ratio / old["odds_ratio"])) < 0.25
    assert runs["needle_changed"].sum() == 135


def test_the_late_shift_misplaces_more(runs: pl.DataFrame, truth: dict[str, Any]) -> None:
    careless = truth["careless_shift"]
    begins = dt.time.fromisoformat(truth["shifts"][careless["shift"]]["from"])
    late = pl.col("finished_at").dt.time() > begins
    ratio = rate(runs.filter(late), careless["kind"]) / rate(runs.filter(~late), careless["kind"])
    assert abs(math.log(ratio / careless["odds_ratio"])) < 0.25


def test_one_run_is_held_for_missing_needle_parts(runs: pl.DataFrame) -> None:
    held = runs.filter(~pl.col("needle_parts_found"))
    assert held["week"].to_list() == ["2026-W46"]
    assert held["needle_breaks"].to_list() == [1]
    assert "not found" in held["notes"].item()


def test_lots_differ_and_average_out_within_a_supplier(truth: dict[str, Any]) -> None:
    planted = {bad["lot"] for bad in truth["bad_lots"]}
    families: dict[tuple[str, str], list[float]] = {}
    for name, lot in truth["lots"].items():
        if name not in planted:
            own = families.setdefault((lot["supplier"], lot["backing"]), [])
            own.append(lot["log_odds"]["puckering"])
    for effects in families.values():
        assert np.mean(effects) == pytest.approx(0, abs=0.001)
    everything = np.concatenate([np.array(effects) for effects in families.values()])
    assert 0.22 < everything.std() < 0.38
