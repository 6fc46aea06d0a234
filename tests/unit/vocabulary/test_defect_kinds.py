"""The defect kinds: complete, in order, judged by eye, and safe to act on."""

from __future__ import annotations

import re

import pytest

from logbook.errors import VocabularyError
from logbook.runs.factors import FACTORS
from logbook.vocabulary import ANY, DEFECT_KINDS, DefectKind, kind

PIECE_KINDS = [
    "puckering",
    "gaps",
    "shadowing",
    "sinking",
    "coverage",
    "looping",
    "bobbin_showing",
    "skipped_stitches",
    "hoop_marks",
    "needle_cuts",
    "misplacement",
    "trimming_damage",
    "soiling",
]
EVENT_KINDS = ["thread_breaks", "needle_breaks", "bird_nests"]
SETUP_COLUMNS = {
    *(factor.cut_from or factor.column for factor in FACTORS),
    "thread",
    "row_spacing_mm",
}
HAND_WORK = re.compile(r"\b(re-thread|thread the|fit a|swap|clean|wipe|cut the|bobbin tension)\b")
ALL = pytest.mark.parametrize("each", [*DEFECT_KINDS, ANY], ids=lambda each: each.name)


def test_every_kind_of_the_run_sheet_in_its_order() -> None:
    assert [each.name for each in DEFECT_KINDS] == [*PIECE_KINDS, "fabric_faults", *EVENT_KINDS]


@pytest.mark.parametrize("each", DEFECT_KINDS, ids=lambda each: each.name)
def test_measure_goes_with_what_it_is_counted_against(each: DefectKind) -> None:
    counted = (each.measure, each.counted_against)
    if each.name in EVENT_KINDS:
        assert counted == ("events", "stitches sewn")
    else:
        assert counted == ("pieces", "pieces inspected")


def test_only_faults_of_the_fabric_are_not_charged_to_the_setup() -> None:
    assert [each.name for each in DEFECT_KINDS if not each.charged_to_setup] == ["fabric_faults"]
    assert not any(each.own for each in DEFECT_KINDS)


@ALL
def test_definition_says_more_than_the_label(each: DefectKind) -> None:
    assert len(each.definition.split()) >= 10
    assert each.definition.endswith(".")
    assert not each.definition.lower().startswith(each.label.lower())
    assert each.source
    assert "_" not in each.label


def test_labels_and_names_are_told_apart() -> None:
    kinds = [*DEFECT_KINDS, ANY]
    assert len({each.label.lower() for each in kinds}) == len(kinds)
    assert len({each.definition for each in kinds}) == len(kinds)


@ALL
def test_levers_are_columns_of_the_run_sheet(each: DefectKind) -> None:
    assert set(each.usual_levers) <= SETUP_COLUMNS
    assert len(set(each.usual_levers)) == len(each.usual_levers)
    assert bool(each.usual_levers) == each.charged_to_setup


@ALL
def test_remedies_are_sentences_and_never_twice(each: DefectKind) -> None:
    assert each.remedies
    assert len(set(each.remedies)) == len(each.remedies)
    assert all(remedy[0].isupper() and remedy.endswith(".") for remedy in each.remedies)


@ALL
def test_remedies_never_touch_a_running_machine_or_its_guards(each: DefectKind) -> None:
    forbidden = (
        r"\b(disabl|bypass|overrid|defeat|switch\w* off|turn\w* off|remov)\w*[^.]*"
        r"\b(sensors?|guards?|covers?|emergency)\b"
    )
    for remedy in each.remedies:
        assert not re.search(forbidden, remedy, re.IGNORECASE)
        assert not re.search(r"while (it|the machine) (is )?run|running machine", remedy)
        assert not re.search(r"(raise|increase) the speed|sew faster", remedy, re.IGNORECASE)
        if HAND_WORK.search(remedy.lower()):
            assert re.search(r"\bstop(ped)?\b", remedy.lower()), remedy


@ALL
def test_remedies_with_heat_or_spray_carry_their_caution(each: DefectKind) -> None:
    for remedy in each.remedies:
        if re.search(r"\bspray", remedy, re.IGNORECASE):
            assert re.search(r"away from machines", remedy)
            assert "ignit" in remedy
        if re.search(r"\b(steam|press by|fused|fusible|bond)\b", remedy, re.IGNORECASE):
            assert "scrap first" in remedy


@pytest.mark.parametrize("text", ["puckering", "Puckering", " PUCKERING "])
def test_a_kind_is_found_by_name_whatever_the_case(text: str) -> None:
    assert kind(text).name == "puckering"


@pytest.mark.parametrize("each", [*DEFECT_KINDS, ANY], ids=lambda each: each.name)
def test_a_kind_is_found_by_its_label(each: DefectKind) -> None:
    assert kind(each.label) is each
    assert kind(each.name.replace("_", "-")) is each


def test_a_shops_own_kind_is_found_beside_the_known_ones() -> None:
    own = DefectKind(
        name="sequin_loss",
        label="Sequin loss",
        measure="pieces",
        definition="A sequin is missing from its place.",
        usual_levers=(),
        remedies=(),
        source="the shop's own list",
        own=True,
    )
    assert kind("sequin loss", own=[own]) is own
    with pytest.raises(VocabularyError):
        kind("sequin loss")


def test_an_unknown_kind_names_the_nearest() -> None:
    with pytest.raises(VocabularyError, match="puckering") as caught:
        kind("puckerring")
    assert "puckerring" in caught.value.message


def test_a_far_off_kind_lists_all_that_are_known() -> None:
    with pytest.raises(VocabularyError) as caught:
        kind("zzzz")
    assert all(each.name in str(caught.value) for each in DEFECT_KINDS)
