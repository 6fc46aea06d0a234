"""What shop.toml may say, and the words for what it may not."""

from __future__ import annotations

import math
from typing import Any

import pytest

from logbook.errors import SettingsError
from logbook.shop import Costs, DailyBackups, Price, SameMill, Shop, shop_from
from logbook.vocabulary.defects import DEFECT_KINDS


def test_nothing_said_gives_the_starting_values() -> None:
    assert shop_from({}) == Shop()
    assert shop_from({}).costs_assumed
    assert shop_from({"costs": {}}).costs_assumed


def test_everything_said_is_kept() -> None:
    shop = shop_from(
        {
            "shop": {"name": " Bramble Works ", "currency": "GBP", "timezone": "Europe/Lisbon"},
            "costs": {"piece_value": 20, "labour_minute": 0.5},
            "price": [
                {"supplier": "Fernhill", "backing": "cutaway", "gsm": 60, "per_m2": 1.1},
                {"supplier": "Oakline", "backing": "tear_away", "per_m2": 0.8},
            ],
            "fabric": [
                {"name": "polo pique", "stretch": "little", "sheerness": "Opaque", "gsm": 200},
                {"name": "fleece", "pile_mm": 3.5},
            ],
            "same_mill": [{"suppliers": ["Fernhill", "Oakline"], "backing": "tear away"}],
            "defect_kind": [{"name": "loose_ends", "label": "Loose ends", "measure": "pieces"}],
        }
    )
    assert (shop.name, shop.currency, shop.timezone) == ("Bramble Works", "GBP", "Europe/Lisbon")
    assert shop.costs == Costs(piece_value=20.0, labour_minute=0.5)
    assert not shop.costs_assumed
    assert shop.prices == (
        Price("Fernhill", "cut_away", 1.1, 60.0),
        Price("Oakline", "tear_away", 0.8, None),
    )
    polo, fleece = shop.fabrics
    assert (polo.stretch, polo.sheerness, polo.gsm, polo.pile_mm) == ("low", "opaque", 200.0, None)
    assert (fleece.stretch, fleece.pile_mm) == (None, 3.5)
    assert shop.same_mill == (SameMill(("Fernhill", "Oakline"), "tear_away"),)
    assert shop.kinds[:-1] == DEFECT_KINDS
    assert shop.kinds[-1].label == "Loose ends"


def test_an_own_kind_of_pieces_or_of_events() -> None:
    pieces, events = shop_from(
        {"defect_kind": [{"name": "loose_ends"}, {"name": "hook_stops", "measure": "events"}]}
    ).own_kinds
    assert (pieces.measure, pieces.counted_against) == ("pieces", "pieces inspected")
    assert (events.measure, events.counted_against) == ("events", "stitches sewn")
    assert pieces.label == "Loose ends"
    assert pieces.own
    assert pieces.charged_to_setup


# What the file says, then what the message must name: the table, the key, what was found.
FAULTS: list[tuple[dict[str, Any], str]] = [
    ({"cost": {}}, r"table \[cost\]"),
    ({"shop": {"town": "Porto"}}, r"\[shop\].*'town'"),
    ({"shop": "Bramble"}, r"\[shop\] must be a table"),
    ({"shop": {"name": 5}}, r"\[shop\] needs name as text, found 5"),
    ({"shop": {"currency": "  "}}, r"\[shop\] needs currency"),
    ({"shop": {"timezone": "Lisbon"}}, r"\[shop\] timezone 'Lisbon'"),
    ({"shop": {"timezone": "../etc/passwd"}}, r"\[shop\] timezone"),
    ({"shop": {"timezone": "Europe"}}, r"\[shop\] timezone"),
    ({"costs": {"tea": 1.0}}, r"\[costs\].*'tea'"),
    ({"costs": {"piece_value": "14,50"}}, r"\[costs\] needs piece_value.*'14,50'"),
    ({"costs": {"piece_value": True}}, r"\[costs\] needs piece_value.*True"),
    ({"costs": {"piece_value": math.nan}}, r"\[costs\] needs piece_value.*nan"),
    ({"costs": {"machine_hour": math.inf}}, r"\[costs\] needs machine_hour.*inf"),
    ({"costs": {"labour_minute": -0.01}}, r"\[costs\] labour_minute is -0\.01"),
    ({"costs": []}, r"\[costs\] must be a table"),
    ({"price": {"supplier": "A"}}, r"price must be a list of tables"),
    ({"price": ["A"]}, r"price must be a list of tables"),
    ({"price": [{"backing": "cut_away", "per_m2": 1}]}, r"\[price\] needs supplier"),
    ({"price": [{"supplier": "A", "backing": "cut_away"}]}, r"\[price\] needs per_m2"),
    ({"price": [{"supplier": "A", "backing": "felt", "per_m2": 1}]}, r"price\]\] backing.*'felt'"),
    (
        {"price": [{"supplier": "A", "backing": "cut_away", "per_m2": 1, "gsm": "60"}]},
        r"\[price\] needs gsm.*'60'",
    ),
    ({"fabric": [{"stretch": "low"}]}, r"\[fabric\] needs name"),
    ({"fabric": [{"name": "polo", "stretch": "lots"}]}, r"fabric\]\] stretch is 'lots'"),
    ({"fabric": [{"name": "polo", "sheerness": 3}]}, r"\[fabric\] needs sheerness.*3"),
    ({"fabric": [{"name": "polo", "colour": "red"}]}, r"\[fabric\].*'colour'"),
    ({"same_mill": [{"suppliers": ["A"]}]}, r"same_mill\]\] needs suppliers"),
    ({"same_mill": [{"suppliers": "A, B"}]}, r"same_mill\]\] needs suppliers"),
    ({"same_mill": [{"suppliers": ["A", 2]}]}, r"same_mill\]\] needs suppliers"),
    ({"same_mill": [{"suppliers": ["A", "B"], "backing": "?"}]}, r"same_mill\]\] backing"),
    ({"defect_kind": [{}]}, r"\[defect_kind\] needs name"),
    ({"defect_kind": [{"name": "gaps"}]}, r"defect_kind\]\] name 'gaps'"),
    ({"defect_kind": [{"name": "any"}]}, r"defect_kind\]\] name 'any'"),
    ({"defect_kind": [{"name": "Loose ends"}]}, r"defect_kind\]\] name 'Loose ends'"),
    ({"defect_kind": [{"name": "x"}]}, r"defect_kind\]\] name 'x'"),
    ({"defect_kind": [{"name": "loose_ends"}] * 2}, r"defect_kind\]\] name 'loose_ends'"),
    ({"defect_kind": [{"name": 'a" BIGINT; --'}]}, r"defect_kind\]\] name"),
    ({"defect_kind": [{"name": "loose_ends", "measure": "hours"}]}, r"loose_ends: measure.*hours"),
]


@pytest.mark.parametrize(("settings", "named"), FAULTS)
def test_a_fault_names_the_table_and_the_key(settings: dict[str, Any], named: str) -> None:
    with pytest.raises(SettingsError, match=named) as problem:
        shop_from(settings)
    assert problem.value.message.startswith("shop.toml")


def test_minutes_of_an_event() -> None:
    costs = Costs(minutes_per_bird_nest=7.0, minutes_per_other_event=3.0, machine_hour=12.0)
    assert costs.minutes_per_event("bird_nests") == 7.0
    assert costs.minutes_per_event("thread_breaks") == 1.0
    assert costs.minutes_per_event("needle_breaks") == 6.0
    assert costs.minutes_per_event("hook_stops") == 3.0
    assert costs.stopped_minute == pytest.approx(0.45 + 0.20)


def test_a_shop_cannot_be_changed_by_the_way() -> None:
    with pytest.raises(AttributeError):
        Shop().name = "another"  # type: ignore[misc]


def test_daily_backups_are_asked_for_by_their_folder() -> None:
    assert shop_from({}).backup is None
    asked = shop_from({"backup": {"folder": " /mnt/stick "}}).backup
    assert asked == DailyBackups(folder="/mnt/stick", keep=14)
    assert shop_from({"backup": {"folder": "b", "keep": 1}}).backup == DailyBackups("b", 1)


@pytest.mark.parametrize(
    ("backup", "says"),
    [
        ({}, r"\[backup\] needs folder"),
        ({"folder": ""}, r"\[backup\] needs folder"),
        ({"folder": "b", "keep": 0}, "keep is 0; it must be a whole number"),
        ({"folder": "b", "keep": 1.5}, "keep is 1.5"),
        ({"folder": "b", "keep": True}, "keep is True"),
        ({"folder": "b", "days": 3}, "'days' that is not understood"),
        ("b", r"\[backup\] must be a table"),
    ],
)
def test_daily_backups_that_make_no_sense(backup: Any, says: str) -> None:
    with pytest.raises(SettingsError, match=says):
        shop_from({"backup": backup})


def test_what_customers_allow_to_be_spoiled() -> None:
    shop = shop_from({"allowances": {"usual": 0.02, "Mill Rowing": 0.01}})
    assert shop.allowances.of("mill rowing ") == 0.01
    assert shop.allowances.of("Harbour Café") == shop.allowances.of(None) == 0.02
    assert shop_from({}).allowances.of("Mill Rowing") is None


@pytest.mark.parametrize(
    ("allowances", "says"),
    [
        ({"usual": 2}, "'usual' is 2; it must be a share from 0 to 1"),
        ({"Mill Rowing": "1 %"}, "Mill Rowing"),
        (0.02, "must be a table"),
    ],
)
def test_allowances_that_make_no_sense(allowances: Any, says: str) -> None:
    with pytest.raises(SettingsError, match=says):
        shop_from({"allowances": allowances})
