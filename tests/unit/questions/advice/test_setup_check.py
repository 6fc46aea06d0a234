from __future__ import annotations

from typing import Any

import pytest

from logbook.questions.advice.setup_check import rules_broken, words_of
from logbook.shop import FabricFacts, Shop
from logbook.vocabulary.rules import RULES_OF_THUMB


def _names(**setup: Any) -> list[str]:
    return [rule.name for rule in rules_broken(setup, shop=Shop())]


def test_nothing_told_breaks_nothing() -> None:
    assert _names() == []
    assert _names(fabric="a cloth that nobody knows") == []


def test_stretch_on_tear_away_alone_is_spoken_against() -> None:
    assert "stretch_needs_support" in _names(fabric="performance knit", backing="tear_away")
    assert "stretch_needs_support" not in _names(fabric="performance knit", backing="cut_away")


def test_measures_are_held_in_their_bands() -> None:
    setup = {"fabric_shade": "light", "fabric_sheer": True, "backing": "cut_away"}
    assert "opaque_on_sheer" not in _names(**setup, backing_gsm=40.0)
    assert "opaque_on_sheer" in _names(**setup, backing_gsm=95.0)


def test_what_the_run_says_of_its_cloth_comes_before_its_class() -> None:
    said = words_of({"fabric": "pique polo", "fabric_sheer": True}, shop=Shop())
    assert said["fabric_sheer"] == "true"


def test_the_shops_own_facts_on_a_cloth_count() -> None:
    shop = Shop(fabrics=(FabricFacts(name="House jersey", stretch="high"),))
    broken = rules_broken({"fabric": "house jersey", "backing": "tear_away"}, shop=shop)
    assert "stretch_needs_support" in [rule.name for rule in broken]


@pytest.mark.parametrize(
    "rule", [rule for rule in RULES_OF_THUMB if not rule.expects], ids=lambda rule: str(rule.name)
)
def test_a_rule_that_only_recommends_is_never_broken(rule: Any) -> None:
    words = {name: values[0] for name, values in rule.conditions.items()}
    assert rule not in rules_broken(words, shop=Shop())


def test_those_agreed_on_most_come_first() -> None:
    setup = {"fabric": "performance knit", "backing": "tear_away", "backing_layers": 2}
    statuses = [rule.status for rule in rules_broken(setup, shop=Shop())]
    assert len(statuses) > 1
    assert statuses == sorted(statuses, key=("strong", "usual", "contested").index)
