"""Breaks held against the stitches that each place sewed: patterns found, chance let pass."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from logbook.errors import TooLittleData
from logbook.questions.breaks.analyse import FEWEST, analyse
from logbook.questions.breaks.result import Tally
from logbook.questions.breaks.words import gathering_said, headline, notes


def _one_by_one(counts: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
    """Every break in a run of its own."""
    places = [place for place, count in enumerate(counts) for _ in range(count)]
    return tuple(tuple(int(at == place) for at in range(len(counts))) for place in places)


def _heads(*counts: int, stitches: tuple[float, ...] | None = None, unsaid: int = 0) -> Tally:
    work = stitches or (1e6,) * len(counts)
    labels = tuple(str(place) for place in range(1, len(counts) + 1))
    return Tally("head", "machine M2", labels, _one_by_one(counts), work, unsaid)


def test_breaks_on_one_head_point_to_that_head() -> None:
    result = analyse([_heads(1, 1, 14, 0, 1, 1)])
    [head] = result.standing_out
    assert head.mostly
    says = headline(result)
    assert "Mostly one head: 14 of 18 breaks of machine M2 from 18 runs" in says
    assert "head 3, which sewed 17 % of the stitches" in says
    assert "rather than the backing" in says
    assert "Look there first: thread its whole path anew." in says


def test_the_interval_is_of_the_share() -> None:
    says = gathering_said(analyse([_heads(1, 1, 14, 0, 1, 1)]).judged[0])
    bounds = stats.binomtest(14, 18).proportion_ci(method="wilson")
    assert f"{bounds.low * 100:.1f}" in says
    assert f"{bounds.high * 100:.1f}" in says


def test_a_head_that_sewed_most_is_not_blamed_for_most() -> None:
    busy = analyse([_heads(14, 2, 2, stitches=(14e6, 2e6, 2e6))])
    assert busy.standing_out == ()
    assert headline(busy).startswith("No gathering beyond chance by heads")
    assert "18 breaks in 18 runs" in headline(busy)
    assert "no more than chance" in gathering_said(busy.judged[0])


def test_more_than_its_share_is_not_called_mostly() -> None:
    [head] = analyse([_heads(30, 12, 11, 12, 10)]).judged
    assert head.stands_out
    assert not head.mostly
    assert gathering_said(head).startswith("One head takes more than its share: 30 of 75")


def test_the_clearest_pattern_comes_first_and_says_its_own_checks() -> None:
    colours = Tally(
        *("colour_step", "design Crest", ("1", "2", "3")), _one_by_one((0, 20, 1)), (1e6, 1e6, 1e6)
    )
    result = analyse([_heads(4, 3, 5), colours])
    assert [each.tally.gathering for each in result.judged] == ["colour_step", "head"]
    assert "swap the cone" in headline(result)
    told = json.loads(json.dumps(result.as_json()))
    assert told["patterns"][0]["mostly_one"] is True
    assert told["patterns"][0]["places"][1]["count"] == 20
    assert told["patterns"][1]["look_at_first"] == []
    assert any("Stop the machine" in note for note in notes(result))
    assert result.table().height == 6


def test_looking_at_many_tallies_raises_no_more_alarms() -> None:
    """Ten tallies a time without any pattern: at least one alarm in 5 % of times or fewer."""
    random = np.random.default_rng(4)
    times = 60
    alarms = 0
    for _ in range(times):
        tallies = [_heads(*random.multinomial(15, [0.25] * 4)) for _ in range(6)]
        alarms += bool(analyse(tallies).standing_out)
    assert alarms <= stats.binom.ppf(0.999, times, 0.05)


def test_too_few_breaks_are_said_to_be_too_few() -> None:
    with pytest.raises(TooLittleData, match="written down for 4") as refused:
        analyse([_heads(4, 0), _heads(1, 1)])
    assert (refused.value.needed, refused.value.got) == (FEWEST, 4)
    with pytest.raises(TooLittleData, match="for 0 of them"):
        analyse([])


def test_one_place_alone_is_left_aside() -> None:
    alone = Tally("head", "machine M1", ("1",), _one_by_one((9,)), (1e6,))
    result = analyse([alone, _heads(3, 3)])
    assert result.too_few == (alone,)
    assert len(result.judged) == 1


def test_breaks_without_a_place_are_told() -> None:
    assert any(
        "no place written down" in note for note in notes(analyse([_heads(4, 4, unsaid=20)]))
    )
    assert notes(analyse([_heads(4, 4, unsaid=2)])) == ()


def test_one_bad_run_is_no_pattern_of_the_machine() -> None:
    once = Tally("head", "machine M1", ("1", "2", "3", "4"), ((0, 0, 8, 0),), (1e6,) * 4)
    with pytest.raises(TooLittleData, match="from 3 runs"):
        analyse([once])
    with_others = ((0, 0, 8, 0), (1, 0, 0, 0), (0, 1, 0, 0), (0, 0, 0, 1))
    [judged] = analyse([replace(once, by_run=with_others)]).judged
    assert not judged.stands_out
    assert float(judged.fit.lower[2]) < 0.25


def test_runs_that_hang_together_raise_no_more_alarms() -> None:
    """Each run breaks its thread at one head only, chosen by chance: judged singly, most alarm."""
    random = np.random.default_rng(8)
    times = 80
    by_runs = singly = 0
    for _ in range(times):
        heads = random.integers(0, 6, 8)
        runs = tuple(tuple(6 * int(at == head) for at in range(6)) for head in heads)
        tally = Tally("head", "machine M1", tuple("123456"), runs, (1e6,) * 6)
        by_runs += bool(analyse([tally]).standing_out)
        singly += bool(analyse([replace(tally, by_run=_one_by_one(tally.counts))]).standing_out)
    assert by_runs <= stats.binom.ppf(0.999, times, 0.05)
    assert singly > times / 2
