"""The settings file of a book, as it is read and as it starts."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.errors import SettingsError
from logbook.runs.columns import COLUMNS
from logbook.shop import DailyBackups, Shop, shop_from
from logbook.store.settings import RESERVED, STARTING_SETTINGS, parse_settings, read_settings


def test_a_missing_file_gives_the_starting_values(tmp_path: Path) -> None:
    assert read_settings(tmp_path / "shop.toml") == Shop()


def test_the_starting_file_says_what_the_starting_values_are() -> None:
    assert parse_settings(STARTING_SETTINGS, "shop.toml") == Shop()


def test_the_starting_file_without_its_marks_is_understood() -> None:
    lines = STARTING_SETTINGS.splitlines()
    tables = [line.removeprefix("# ") for line in lines if "=" in line or "[" in line]
    shop = parse_settings("\n".join(tables), "shop.toml")
    assert shop.costs == Shop().costs
    assert not shop.costs_assumed
    assert len(shop.prices) == len(shop.fabrics) == len(shop.same_mill) == 1
    assert [kind.name for kind in shop.own_kinds] == ["loose_ends"]
    assert shop.backup == DailyBackups(folder="backups")


def test_a_mark_at_the_start_of_the_file_is_understood(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    file.write_bytes('\ufeff[shop]\nname = "Näherei Süd"\n'.encode())
    assert read_settings(file).name == "Näherei Süd"


@pytest.mark.parametrize("data", [b"[shop\n", b"name = \xff\xfe\n", b"[shop]\n[shop]\n"])
def test_what_is_not_toml_names_the_file_and_the_way_out(tmp_path: Path, data: bytes) -> None:
    file = tmp_path / "shop.toml"
    file.write_bytes(data)
    with pytest.raises(SettingsError, match=r"shop\.toml cannot be read as TOML") as problem:
        read_settings(file)
    assert problem.value.hint is not None


def test_a_folder_in_place_of_the_file(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="cannot be read"):
        read_settings(tmp_path)


@pytest.mark.parametrize(
    "name",
    ["site", "notes", "week", "weight_band", "version", "source", "content_mark", "row", "reason"],
)
def test_an_own_kind_cannot_take_the_name_of_a_column(name: str) -> None:
    assert shop_from({"defect_kind": [{"name": name}]}).own_kinds  # plain enough by itself
    with pytest.raises(SettingsError, match=rf"\[\[defect_kind\]\] name '{name}' is taken"):
        parse_settings(f'[[defect_kind]]\nname = "{name}"\n', "shop.toml")


def test_every_column_is_reserved() -> None:
    assert {column.name for column in COLUMNS} | {"backing_oz_yd2"} <= RESERVED
