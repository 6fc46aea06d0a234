import polars as pl
import pytest
from planted_cells import planted

from logbook.adjusted_comparison import adjusted_factors, departures
from logbook.vocabulary.defects import kind

PUCKERING = kind("puckering")
BAD = "M3"


@pytest.fixture(scope="module")
def cells():
    effects = {"M1": 0.0, "M2": 0.0, BAD: 1.2, "M4": 0.0}
    return planted(seed=3, runs=1200, supplier_effects=effects).with_columns(
        machine=pl.col("backing_supplier"), backing_supplier=pl.lit("Alder")
    )


def machines(cells):
    found = adjusted_factors(cells, kind=PUCKERING).effects
    return {each.level: each for each in found if each.factor == "machine"}


def test_one_bad_machine_does_not_make_good_ones_of_the_others(cells, monkeypatch):
    found = machines(cells)
    assert [name for name, each in found.items() if each.finding] == [BAD]
    assert found[BAD].apart == ()
    assert {each.apart for name, each in found.items() if name != BAD} == {(BAD,)}
    monkeypatch.setattr(departures, "MOST_APART", 0)
    assert sum(each.finding and each.ratio < 1 for each in machines(cells).values()) == 3


def test_of_two_machines_neither_is_set_apart(cells):
    two = cells.filter(pl.col("machine").is_in(["M1", BAD]))
    assert {each.apart for each in machines(two).values()} == {()}


def test_suppliers_are_alternatives_and_all_are_the_others():
    found = adjusted_factors(planted(seed=1), kind=PUCKERING).effects
    assert {each.apart for each in found} == {()}
