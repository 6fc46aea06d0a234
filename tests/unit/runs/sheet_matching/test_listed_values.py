"""Closed lists, yes and no, and several facts in one cell."""

from __future__ import annotations

import pytest

from logbook.runs.sheet_matching.listed_values import (
    CHOICES,
    read_backing,
    read_choice,
    read_needle,
    read_yes_no,
)


@pytest.mark.parametrize(
    ("text", "facts"),
    [
        (
            "2.5oz cutaway x2 white",
            {
                "backing": "cut_away",
                "backing_oz_yd2": "2.5",
                "backing_layers": "2",
                "backing_shade": "white",
            },
        ),
        ("Cut away 2x", {"backing": "cut_away", "backing_layers": "2"}),
        ("tear-away 40g", {"backing": "tear_away", "backing_gsm": "40"}),
        ("fusible no-show mesh 1.5oz", {"backing": "fusible_sheer_mesh", "backing_oz_yd2": "1.5"}),
        (
            "C/A 2.5 oz black (Alder)",
            {
                "backing": "cut_away",
                "backing_oz_yd2": "2.5",
                "backing_shade": "black",
                "backing_supplier": "Alder",
            },
        ),
        (
            "Reißvlies 40 g/m² 2-lagig",
            {"backing": "tear_away", "backing_gsm": "40", "backing_layers": "2"},
        ),
        ("cuttaway", {"backing": "cut_away"}),
    ],
)
def test_facts_of_a_backing(text: str, facts: dict[str, str]) -> None:
    assert read_backing(text, {"alder": "Alder"}) == (facts, "")


def test_words_beside_a_backing_are_left_over() -> None:
    assert read_backing("cutaway scraps", {}) == ({"backing": "cut_away"}, "scraps")


@pytest.mark.parametrize(
    ("text", "facts"),
    [
        ("75/11", {"needle_nm": "75"}),
        ("#11", {"needle_nm": "75"}),
        ("75/11 BP", {"needle_nm": "75", "needle_point": "light_ball"}),
        ("SES 75", {"needle_nm": "75", "needle_point": "light_ball"}),
        ("blunt", None),
    ],
)
def test_needles(text: str, facts: dict[str, str] | None) -> None:
    assert read_needle(text) == facts


def test_yes_and_no() -> None:
    assert all(
        read_yes_no(text) for text in ("yes", "Y", "x", "✓", "ja", "TRUE", "1", "ok", "found")
    )
    assert not any(read_yes_no(text) for text in ("no", "N", "0", "nein", "not found", "false"))
    assert read_yes_no("perhaps") is None


def test_choices_in_two_languages_and_with_slips() -> None:
    assert read_choice("Magnetrahmen", CHOICES["hooping"]) == "clamped"
    assert read_choice("foil", CHOICES["topping"]) is None
    assert read_choice("water solubel film", CHOICES["topping"]) == "water_soluble_film"
