"""What is told of a job that the record does not know, and words for what a change brings along."""

from __future__ import annotations

from dataclasses import replace

import polars as pl
import pytest
from planted_cells import planted
from test_advice import advised, cells_of
from test_advice_trials import trial

from logbook.errors import TooLittleData
from logbook.questions.advice.candidates import single_changes
from logbook.questions.advice.job import in_words, job_from
from logbook.questions.advice.suggestion import changes_between, changes_said
from logbook.questions.advice.words import headline, like_runs
from logbook.vocabulary.defects import ANY


@pytest.fixture(scope="module")
def cells() -> pl.DataFrame:
    """Jersey is never sewn on sheer mesh; some runs on pique have no backing."""
    own = cells_of(planted(runs=1500)).filter(
        (pl.col("fabric") != "jersey T-shirt") | (pl.col("backing") != "sheer_mesh")
    )
    bare = (pl.col("fabric") == "pique polo") & (pl.col("backing_supplier") == "Cedar")
    return own.with_columns(
        *(
            pl.when(bare).then(pl.lit(word, pl.String)).otherwise(name).alias(name)
            for name, word in (
                ("backing", "none"),
                ("weight_band", None),
                ("backing_layers", "0"),
                ("backing_supplier", None),
                ("backing_lot", None),
            )
        )
    )


def whole(cells: pl.DataFrame) -> pl.DataFrame:
    return in_words(cells).filter(pl.col("kind") == ANY.name)


def test_without_backing_there_is_no_weight_and_no_supplier(cells):
    job = job_from(whole(cells), fabric="twill", setup={"backing": "none"})
    assert job.setup["backing_layers"] == "0"
    assert job.setup["weight_band"] is None
    assert job.setup["backing_supplier"] is None
    assert job.unseen == {}
    assert job.usual_runs == 0


def test_what_goes_with_a_backing_new_to_a_fabric_is_that_of_other_fabrics(cells):
    told = {"backing": "sheer_mesh", "backing_supplier": "Birch"}
    job = job_from(whole(cells), fabric="jersey T-shirt", setup=told)
    assert (job.setup["weight_band"], job.setup["backing_layers"]) == ("light", "1")
    assert job.setup["backing_supplier"] == "Birch"
    assert job.unseen == {}


def test_what_no_run_has_is_said_and_a_change_from_it_is_thin(cells):
    result = advised(
        cells,
        design="Not sewn yet",
        density=0.5,
        setup={"topping": "heat_away_film", "machine": "M9", "backing_supplier": "Birch"},
    )
    assert result.as_json()["job"]["never_seen"] == {
        "topping": "heat_away_film",
        "machine": "M9",
        "design": "Not sewn yet",
        "density_band": "open",
    }
    assert "Mind: no run on record has topping heat-away film or machine M9 or" in headline(result)
    known = advised(cells, setup={"topping": "heat_away_film", "backing_supplier": "Birch"})
    from_film = [
        each
        for each in known.suggestions
        if any(change.factor == "topping" for change in each.changes)
    ]
    assert from_film
    assert {each.evidence for each in from_film} == {"thin"}
    others = [each for each in known.suggestions if each not in from_film]
    assert any(each.evidence == "strong" for each in others)


def test_a_density_far_from_all_that_was_sewn_supports_nothing(cells):
    assert advised(cells, density=0.5).candidates == 0
    assert advised(cells, density=0.5).table().columns[0] == "change"
    assert advised(cells, density=4.0).candidates > 0


def test_no_runs_of_the_fabric_in_the_dates_is_not_called_none_at_all(cells):
    with pytest.raises(TooLittleData, match="among those asked about"):
        job_from(whole(cells).clear(), fabric="twill")


def test_a_change_to_no_backing_says_no_more_than_that(cells):
    like = whole(cells).filter(pl.col("fabric") == "pique polo")
    told = {"backing": "sheer_mesh", "backing_supplier": "Birch"}
    job = job_from(whole(cells), fabric="pique polo", setup=told)
    singles = [each.changes for each in single_changes(like, job)]
    bare = next(each for each in singles if each.get("backing") == "none")
    assert set(bare) == {"backing", "weight_band", "backing_layers", "backing_supplier"}
    changes = changes_between(job.setup, bare)
    assert changes_said(changes) == "backing from sheer mesh to no backing"


def test_a_part_that_another_backing_does_not_record_is_not_said():
    changes = changes_between(
        {"backing": "sheer_mesh", "weight_band": "light", "backing_supplier": None},
        {"backing": "cut_away", "weight_band": None, "backing_supplier": "Birch"},
    )
    assert changes_said(changes) == (
        "backing from sheer mesh to cut-away and backing supplier to Birch"
    )


def test_a_part_that_stays_as_it_is_is_no_change(cells):
    like = whole(cells).filter(pl.col("fabric") == "twill")
    few = like.filter(
        (pl.col("backing") == "cut_away") & (pl.col("backing_supplier") == "Birch")
    ).head(2)
    like = pl.concat([like.filter(pl.col("backing") == "sheer_mesh"), few])
    told = {"backing": "sheer_mesh", "backing_supplier": "Birch"}
    job = job_from(whole(cells), fabric="twill", setup=told)
    other = next(each for each in single_changes(like, job) if "backing" in each.changes)
    assert other.changes["backing_supplier"] == "Birch"
    [change] = changes_between(job.setup, other.changes)
    assert change.words() == "backing from sheer mesh to cut-away"


@pytest.mark.parametrize(
    ("pieces_per_arm", "then"),
    [(50, "try it fairly first"), (1, "and a trial would be too long to be worth it")],
)
def test_a_change_that_may_lose_is_not_called_better(cells, pieces_per_arm, then):
    result = advised(cells)
    step = 0.02 if pieces_per_arm == 50 else 0.0002
    unsure = replace(
        result.suggestions[0],
        evidence="fair",
        chance_better=0.82,
        best_guess_per_100=1.0,
        saving_per_100=0.4,
        saving_interval=(-0.72, 2.72),
        trial=trial(smallest_difference=step, pieces_per_arm=pieces_per_arm),
        uncounted=(),
    )
    said = headline(replace(result, suggestions=(unsure,)))
    assert said.startswith(
        f"For twill, no change is clearly better; the likeliest is {unsure.words()}: it may save "
        "EUR 0.40 per 100 pieces (95 % interval "
    )
    assert "interval \N{MINUS SIGN}EUR 0.72 to EUR 2.72" in said
    assert then in said


def test_runs_are_counted_in_good_english():
    assert [like_runs(count) for count in (0, 1, 1204)] == [
        "0 like runs",
        "1 like run",
        "1,204 like runs",
    ]
