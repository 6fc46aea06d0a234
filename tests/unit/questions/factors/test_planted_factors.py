"""What was planted in the sample logs is found again, and what does nothing is not.

The truths are those of ``sample_logs/truth.json`` and of the formulas in ``sample_logs/truth.py``.
"""

import io
import json
import math

import pytest
from rich.console import Console

from logbook.adjusted_comparison import CELLS_BY
from logbook.cells import of_kind
from logbook.cli.render import show_answer
from logbook.questions.answer import Answer
from logbook.questions.factors import QUESTION, FactorsParameters
from logbook.questions.factors.analyse import analyse
from logbook.questions.factors.result import FactorsResult
from logbook.questions.factors.words import lines, pressing
from logbook.questions.parameters import kind_of
from logbook.shop import Shop
from logbook.store.duckdb_store import DuckStore
from sample_logs import FOLDER
from sample_logs.truth import SPREADS

TRUTH = json.loads((FOLDER / "truth.json").read_text(encoding="utf-8"))
KINDS = (
    *("puckering", "sinking", "shadowing", "needle_cuts", "hoop_marks", "soiling"),
    *("thread_breaks", "looping"),
)


@pytest.fixture(scope="module")
def found(year: DuckStore) -> dict[str, FactorsResult]:
    cells = year.cells(KINDS, by=CELLS_BY)
    return {
        name: analyse(of_kind(cells, name), kind=kind_of(year, name), shop=year.shop)
        for name in KINDS
    }


def effect(found, kind, factor, level):
    return next(
        each
        for each in found[kind].effects
        if (each.adjusted.factor, each.adjusted.level) == (factor, level)
    )


@pytest.mark.parametrize(
    ("kind", "factor", "level", "higher"),
    [
        # Cedar's mesh puckers more, Birch's less; stretchy fabrics and dense designs more.
        ("puckering", "backing_supplier", "Cedar", True),
        ("puckering", "backing_supplier", "Birch", False),
        ("puckering", "fabric", "performance polo", True),
        ("puckering", "fabric", "twill", False),
        ("puckering", "backing", "cut_away", False),
        ("puckering", "backing_layers", "2", False),
        ("puckering", "density_band", "close", False),
        ("puckering", "seen_at", "in_hoop", False),
        ("puckering", "seen_at", "washed", True),
        # The change that helped: film on pile.
        ("sinking", "topping", "water_soluble_film", False),
        ("sinking", "topping", "none", True),
        ("sinking", "fabric", "polar fleece", True),
        ("sinking", "fabric", "terry towel", True),
        # The shade mismatch.
        ("shadowing", "backing_shade", "black", True),
        ("shadowing", "fabric_shade", "light", True),
        ("needle_cuts", "needle_point", "sharp", True),
        ("hoop_marks", "hooping", "hooped", True),
        ("soiling", "fabric_shade", "light", True),
        # The machine that wears, metallic thread, speed.
        ("thread_breaks", "machine", "M3 four-head", True),
        ("thread_breaks", "thread", "40 metallic", True),
        ("thread_breaks", "speed_band", "steady", False),
        ("thread_breaks", "speed_band", "fast", True),
    ],
)
def test_a_planted_truth_is_found(found, kind, factor, level, higher):
    said = effect(found, kind, factor, level)
    assert said.adjusted.finding
    assert (said.adjusted.ratio > 1) is higher


def test_the_size_of_planted_effects_lies_in_the_interval(found):
    light = effect(found, "soiling", "fabric_shade", "light").adjusted
    assert light.ratio_interval[0] < math.exp(0.7) < light.ratio_interval[1]
    metallic = effect(found, "thread_breaks", "thread", "40 metallic").adjusted
    # Against the others, which are nearly all of the plain polyester with an effect of nought.
    assert metallic.ratio_interval[0] < math.exp(1.0) < metallic.ratio_interval[1]
    # The odds with film on pile; off pile it does less, and there is little sinking there.
    film = effect(found, "sinking", "topping", "water_soluble_film").adjusted
    planted = TRUTH["change_that_helped"]["odds_ratio"]
    assert film.ratio_interval[0] < planted * 1.2 < film.ratio_interval[1]


def test_birch_looks_worse_crudely_and_the_answer_warns(found):
    birch = effect(found, "puckering", "backing_supplier", "Birch")
    assert birch.crude.ratio > 1 > birch.adjusted.ratio
    assert birch.confounding == "reversed"
    assert "backing supplier Birch is higher" in pressing(found["puckering"])[0]


@pytest.mark.parametrize(
    ("kind", "factors"),
    [
        # No term of these kinds knows these factors, nor do the machines or operators differ.
        ("soiling", {"backing_supplier", "backing", "topping", "needle_nm", "speed_band"}),
        ("soiling", {"density_band", "hooping", "weight_band", "backing_layers", "operator"}),
        ("looping", {"backing_supplier", "backing", "topping", "fabric_shade", "seen_at"}),
        ("sinking", {"machine", "operator", "backing_supplier", "speed_band", "seen_at"}),
        ("shadowing", {"machine", "operator", "needle_nm", "speed_band", "density_band"}),
        ("hoop_marks", {"machine", "backing_supplier", "topping", "thread", "speed_band"}),
        ("needle_cuts", {"machine", "operator", "backing_supplier", "seen_at", "fabric_shade"}),
    ],
)
def test_what_does_nothing_is_not_flagged(found, kind, factors):
    for column in factors & {"machine", "operator"}:
        assert getattr(SPREADS[kind], column) == 0
    flagged = {each.adjusted.factor for each in found[kind].findings}
    assert flagged & factors == set()


def test_denser_designs_pucker_more_step_by_step(found):
    [curve] = [each for each in found["puckering"].curves if each.factor == "density_band"]
    assert curve.per_step_interval[0] > 1
    rates = [point.rate for point in curve.points]
    assert rates == sorted(rates)
    assert any(line.startswith("Stitch density: the rate") for line in lines(found["puckering"]))


def test_faster_machines_break_more_thread(found):
    [curve] = [each for each in found["thread_breaks"].curves if each.factor == "speed_band"]
    # Planted: e^0.15 for each 100 stitches a minute; the middle bands lie some 90 apart.
    assert curve.per_step_interval[0] < math.exp(0.15 * 0.9) * 1.05
    assert curve.per_step_interval[0] > 1


def test_what_never_varies_apart_in_that_shop_is_named(found):
    levels = {(pair.level, pair.other_level) for pair in found["puckering"].aliased}
    assert ("structured cap", "clamped") in levels
    assert ("65", "60 polyester") in levels
    assert dict(found["puckering"].never_varied) == {"site": "Hollow Lane"}


def test_the_readme_shows_what_the_program_says(found):
    screen = io.StringIO()
    asked = FactorsParameters(defect="puckering")
    answer = Answer(QUESTION, asked, found["puckering"], Shop())
    show_answer(Console(file=screen, width=110), answer)
    printed = {line.rstrip() for line in screen.getvalue().splitlines()}
    readme = (FOLDER.parent / "README.md").read_text(encoding="utf-8")
    section = readme.partition("## Ask what causes a defect")[2].partition("\n## ")[0]
    told = section.split("```")[3].strip("\n").splitlines()
    assert len(told) > 10
    assert [line for line in told if line and line != "…" and line not in printed] == []
