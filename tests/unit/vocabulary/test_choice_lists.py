"""The closed lists: the run sheet's values, and spellings that never clash."""

from __future__ import annotations

from itertools import chain

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.runs.columns import COLUMNS
from logbook.vocabulary import ChoiceList
from logbook.vocabulary.backings import BACKING_FACTS, BACKINGS
from logbook.vocabulary.choices import normalise
from logbook.vocabulary.fabrics import FABRIC_ATTRIBUTES
from logbook.vocabulary.setup_lists import TOPPINGS

CHOICE_LISTS = [each.choices for each in COLUMNS if each.choices]

VALUES = {
    "fabric_shade": "light mid dark",
    "backing": "none cut_away tear_away wash_away_tear_away sheer_mesh fusible_sheer_mesh "
    "water_soluble adhesive",
    "backing_shade": "white black beige",
    "topping": "none water_soluble_film heat_away_film",
    "hooping": "hooped floated adhesive clamped",
    "needle_point": "sharp light_ball medium_ball",
    "seen_at": "in_hoop off_hoop pressed washed returned",
}
LISTS = (*CHOICE_LISTS, *FABRIC_ATTRIBUTES)
EACH_LIST = pytest.mark.parametrize("choices", LISTS, ids=lambda choices: choices.column)
WRITTEN = st.one_of(
    st.text(),
    st.sampled_from(
        list(chain.from_iterable((*each.values, *each.synonyms) for each in LISTS)),
    ),
)


def test_every_closed_list_of_the_run_sheet_with_its_values() -> None:
    assert {each.column: " ".join(each.values) for each in CHOICE_LISTS} == VALUES


@EACH_LIST
def test_labels_are_words_for_people(choices: ChoiceList) -> None:
    labels = [choices.label_of(value) for value in choices.values]
    assert len(set(labels)) == len(labels)
    assert not any("_" in label for label in (*labels, choices.label))
    assert all(choice.says for choice in choices.choices)


@EACH_LIST
def test_synonyms_map_to_known_values_in_normal_spelling(choices: ChoiceList) -> None:
    for spelling, value in choices.synonyms.items():
        assert value in choices.values
        assert normalise(spelling) == spelling


@EACH_LIST
def test_spellings_never_clash(choices: ChoiceList) -> None:
    meanings: dict[str, set[str]] = {}
    for choice in choices.choices:
        others = choice.spellings.split(", ") if choice.spellings else []
        for spelling in (normalise(choice.value), normalise(choice.label), *others):
            meanings.setdefault(spelling, set()).add(choice.value)
    assert {spelling: values for spelling, values in meanings.items() if len(values) > 1} == {}


@EACH_LIST
def test_what_is_shown_and_what_is_stored_are_both_understood(choices: ChoiceList) -> None:
    for choice in choices.choices:
        for written in (choice.value, choice.label, f" {choice.label.upper()} "):
            assert choices.understand(written) == choice.value
    for spelling, value in choices.synonyms.items():
        assert choices.understand(spelling.title().replace(" ", "-")) == value


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("cutaway", "cut_away"),
        ("Cut Away", "cut_away"),
        ("C/A", "cut_away"),
        ("cut\u2011away", "cut_away"),
        ("no-show mesh", "sheer_mesh"),
        ("Poly\u00a0Mesh", "sheer_mesh"),
        ("Fusible No-Show Mesh", "fusible_sheer_mesh"),
        ("tear away", "tear_away"),
        ("wash-away", "water_soluble"),
        ("Wash-Away Tear-Away", "wash_away_tear_away"),
        ("WSS", "water_soluble"),
        ("Peel & Stick", "adhesive"),
        ("(none)", "none"),
        ("No backing.", "none"),
        ("", None),
        ("   ", None),
        ("-", None),
        ("cutaway + tearaway", None),
        ("fusible", None),
        ("usual", None),
    ],
)
def test_spellings_of_backings(written: str, value: str | None) -> None:
    assert BACKINGS.understand(written) == value


def test_the_same_word_means_what_its_column_means() -> None:
    assert BACKINGS.understand("wash away") == "water_soluble"
    assert TOPPINGS.understand("wash away") == "water_soluble_film"
    assert BACKINGS.understand("film") is None


def test_an_unknown_value_is_shown_as_it_is() -> None:
    assert BACKINGS.label_of("felt") == "felt"


@given(written=WRITTEN)
def test_understanding_twice_changes_nothing(written: str) -> None:
    for choices in LISTS:
        value = choices.understand(written)
        assert value is None or value in choices.values
        assert value is None or choices.understand(value) == value


@given(written=WRITTEN)
def test_normalising_twice_changes_nothing(written: str) -> None:
    once = normalise(written)
    assert normalise(once) == once
    assert once == once.strip()
    assert "  " not in once


def test_facts_are_given_for_every_backing_and_no_other() -> None:
    assert tuple(BACKING_FACTS) == BACKINGS.values
    for facts in BACKING_FACTS.values():
        assert facts.definition
        assert facts.removal
        assert facts.stays
        assert facts.source
        assert facts.cautions
        assert list(facts.usual_gsm) == sorted(facts.usual_gsm)
        assert set(facts.shades) <= {"white", "black", "beige"}
