"""Rules of thumb: told apart, checkable against known columns, and safe."""

from __future__ import annotations

import re

import pytest

from logbook.runs.columns import COLUMNS
from logbook.runs.factors import FACTORS
from logbook.vocabulary import DEFECT_KINDS, FABRICS, RULES_OF_THUMB
from logbook.vocabulary.fabrics import FABRIC_ATTRIBUTES
from logbook.vocabulary.rules import RuleOfThumb

CHOICE_LISTS = [each.choices for each in COLUMNS if each.choices]

KNOWN_VALUES: dict[str, set[str]] = {
    **{choices.column: set(choices.values) for choices in (*CHOICE_LISTS, *FABRIC_ATTRIBUTES)},
    **{factor.column: {band.name for band in factor.bands} for factor in FACTORS if factor.bands},
    "fabric": {fabric.name for fabric in FABRICS},
    "fabric_sheer": {"true", "false"},
    "backing_layers": {str(layers) for layers in range(7)},
}
BY_NAME = {rule.name: rule for rule in RULES_OF_THUMB}
EACH = pytest.mark.parametrize("rule", RULES_OF_THUMB, ids=lambda rule: rule.name)


def test_names_are_slugs_and_told_apart() -> None:
    assert len(BY_NAME) == len(RULES_OF_THUMB) >= 40
    assert all(re.fullmatch(r"[a-z][a-z0-9_]*", name) for name in BY_NAME)
    assert {rule.status for rule in RULES_OF_THUMB} == {"strong", "usual", "contested"}


@EACH
def test_a_rule_says_if_then_and_why(rule: RuleOfThumb) -> None:
    assert rule.if_text
    assert rule.if_text[0].islower()
    assert rule.then_text.endswith(".")
    assert rule.why.endswith(".")
    assert rule.source


@EACH
def test_conditions_and_warnings_use_known_words(rule: RuleOfThumb) -> None:
    for column, values in rule.conditions.items():
        assert values
        assert set(values) <= KNOWN_VALUES[column]
    assert set(rule.expects) <= {each.name for each in DEFECT_KINDS if each.charged_to_setup}


@EACH
def test_a_rule_with_needle_heat_or_spray_carries_its_caution(rule: RuleOfThumb) -> None:
    said = rule.then_text.lower()
    if re.search(r"\b(fit|change it)\b", said):
        assert "machine stopped" in said
    if re.search(r"\b(fuse|bond|iron|steam it)\b", said):
        assert "maker" in said
    assert not re.search(r"disabl|bypass|running machine|sew faster", said)


@EACH
def test_a_rule_speaks_to_exactly_the_setups_of_its_conditions(rule: RuleOfThumb) -> None:
    setup = {column: values[0] for column, values in rule.conditions.items()}
    assert rule.speaks_to(setup) == bool(rule.conditions)
    for column in setup:
        assert not rule.speaks_to({**setup, column: "something else"})
        assert not rule.speaks_to({key: value for key, value in setup.items() if key != column})


def test_tear_away_on_stretchy_cloth_is_warned_of() -> None:
    rule = BY_NAME["stretch_needs_support"]
    assert rule.speaks_to({"fabric_stretch": "high", "backing": "tear_away", "site": "North"})
    assert not rule.speaks_to({"fabric_stretch": "none", "backing": "tear_away"})
    assert rule.expects == ("puckering", "gaps")


def test_a_contested_rule_says_why_it_is() -> None:
    contested = [rule for rule in RULES_OF_THUMB if rule.status == "contested"]
    assert len(contested) >= 4
    assert all(re.search(r"against|contradict", rule.source) for rule in contested)
