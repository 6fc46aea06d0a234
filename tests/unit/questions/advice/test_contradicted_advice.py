"""A suggestion that common practice or the plain counts speak against is thin, and says so."""

import polars as pl
import pytest

from logbook.questions.advice.watch import against_common_practice, against_plain_counts

NOW = {"backing": "sheer_mesh", "backing_supplier": "Cedar", "topping": "none"}


def cells(changed, as_now):
    """Two cells of any defect, by (count, pieces): tear-away, and mesh as now."""
    rows = [
        {"backing": backing, "backing_supplier": "Cedar", "count": count, "exposure": pieces}
        for backing, (count, pieces) in (("tear_away", changed), ("sheer_mesh", as_now))
    ]
    return pl.DataFrame(rows)


@pytest.mark.parametrize(
    ("changed", "speaks_against"),
    [
        ((43, 695), True),
        # By hand: one standard error of the difference is 0.83 points, 2.0 and 5.6 % are less.
        ((39, 695), False),
        ((14, 695), False),
        ((0, 0), False),
    ],
)
def test_plain_counts_that_clearly_point_the_other_way_are_said(changed, speaks_against):
    said = against_plain_counts(cells(changed, (990, 20_208)), NOW, {"backing": "tear_away"})
    assert bool(said) == speaks_against
    if speaks_against:
        assert said == (
            "Plain counts say otherwise: 6.2 % of 695 like pieces with the change had a defect, "
            "4.9 % of 20,208 as now.",
        )


def test_a_supplier_is_counted_on_the_backing_used_now():
    both = pl.concat(
        [
            cells((90, 100), (5, 100)),
            pl.DataFrame(
                {"backing": ["sheer_mesh", "tear_away"], "backing_supplier": ["Alder", "Alder"],
                 "count": [4, 99], "exposure": [100, 100]}
            ),
        ]
    )  # fmt: skip
    assert against_plain_counts(both, NOW, {"backing_supplier": "Alder"}) == ()


def test_on_polos_tear_away_is_not_called_strong(year):
    # Planted: Cedar's mesh puckers 1.8 times as often as it should, tear-away on knits 2.5 times.
    from logbook.questions.advice.asking import advise

    result = advise(
        year,
        fabric="performance polo",
        setup={"backing": "sheer_mesh", "backing_supplier": "Cedar"},
    )
    to_tear_away = [
        each
        for each in result.suggestions
        if any(change.after == "tear_away" for change in each.changes)
    ]
    assert all(each.evidence == "thin" for each in to_tear_away)
    assert all(any("say otherwise" in said or "Common practice" in said for said in each.cautions)
               for each in to_tear_away)  # fmt: skip
    assert result.suggestions[0].evidence == "strong"


def against(changes, setup):
    """Ask of common practice alone, on light sheer cloth that stretches."""
    attributes = {"fabric_stretch": "high", "fabric_sheer": "true"}
    return against_common_practice(attributes, {"fabric_shade": "light", **setup}, changes)


@pytest.mark.parametrize(
    ("setup", "changes", "said", "weighs"),
    [
        # Tear-away under stretch is agreed to pucker.
        ({"backing": "sheer_mesh"}, {"backing": "tear_away"}, 1, True),
        # White under sheer white is said against, but black under light is agreed to be worse.
        ({"backing_shade": "black"}, {"backing_shade": "white"}, 1, False),
        ({"backing_shade": "beige"}, {"backing_shade": "white"}, 1, True),
        # Sources contradict each other on a second layer.
        ({"backing_layers": "1"}, {"backing_layers": "2"}, 1, False),
        # What is broken now already is no news.
        ({"backing": "tear_away", "topping": "none"}, {"topping": "water_soluble_film"}, 0, False),
    ],
)
def test_practice_weighs_as_far_as_it_is_agreed(setup, changes, said, weighs):
    sentences, weight = against(changes, setup)
    assert (len(sentences), weight) == (said, weighs)
