"""The defect guide: each kind has its page, found by its address, the shop's own kinds too."""

from __future__ import annotations

import re
from base64 import b64decode
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest
from logged_runs import empty_book
from streamlit.testing.v1 import AppTest

from dashboards.guide_parts import GROUPS
from logbook.store import open_book
from logbook.store.duckdb_store import DuckStore
from logbook.vocabulary import DEFECT_KINDS, DefectKind

VIEW = Path(__file__).parents[3] / "dashboards" / "views" / "defect_guide.py"
SECONDS = 120
OWN = '[[defect_kind]]\nname = "loose_ends"\nlabel = "Loose <ends>"\ndefinition = "*Tails* left."\n'


def _page(kind: str | None = None) -> AppTest:
    page = AppTest.from_file(str(VIEW), default_timeout=SECONDS)
    if kind is not None:
        page.query_params["kind"] = kind
    page.run()
    assert not page.exception
    return page


def _html(app: AppTest) -> str:
    return "".join(each.proto.body for each in app.get("html"))


def _said(app: AppTest) -> str:
    return "\n".join(each.value for each in (*app.markdown, *app.caption, *app.warning, *app.info))


def test_the_groups_of_the_wall_hold_every_kind_of_the_trade() -> None:
    assert [kind for _, group in GROUPS for kind in group] == list(DEFECT_KINDS)


def test_the_wall_leads_to_every_kind_and_shows_each(without_runs: DuckStore) -> None:
    wall = _html(_page())
    assert re.findall(r'href="\?kind=(\w+)"', wall) == [kind.name for kind in DEFECT_KINDS]
    pictures = re.findall(r"data:image/svg\+xml;base64,([^\"]+)", wall)
    assert len(pictures) == len(DEFECT_KINDS)
    for picture in pictures:
        ElementTree.fromstring(b64decode(picture))


@pytest.mark.parametrize("kind", DEFECT_KINDS, ids=lambda kind: kind.name)
def test_an_address_leads_to_the_kind(without_runs: DuckStore, kind: DefectKind) -> None:
    page = _page(kind.name)
    assert page.selectbox[0].value == kind.name
    assert page.query_params["kind"] == kind.name
    said = _said(page)
    assert all(f"{place}. {words}" in said for place, words in enumerate(kind.remedies, start=1))
    assert kind.source in said
    assert "Common practice" in said
    assert "no safety certificate" in said
    assert kind.counted_against in said
    assert ("never charged" in said) is not kind.charged_to_setup
    assert _html(page).count("data:image/svg+xml") == 2


def test_an_unknown_kind_in_the_address_shows_the_wall(without_runs: DuckStore) -> None:
    page = _page("no_such_kind")
    assert page.selectbox[0].value == ""
    assert "?kind=puckering" in _html(page)


def test_a_chosen_kind_goes_into_the_address(without_runs: DuckStore) -> None:
    page = _page()
    page.selectbox[0].set_value("looping").run()
    assert page.query_params["kind"] == "looping"


def test_a_kind_of_the_shops_own_has_an_entry_without_a_picture(
    held: Callable[[DuckStore], DuckStore], tmp_path: Path
) -> None:
    store = _with_own_kind(tmp_path)
    held(store)
    wall = _html(_page())
    assert "Loose &lt;ends&gt;" in wall
    page = _page("loose_ends")
    said = _said(page)
    assert r"\*Tails\* left." in said
    assert "no picture" in said
    assert "data:image" not in _html(page)


def _with_own_kind(tmp_path: Path) -> DuckStore:
    empty_book(tmp_path / "book").close()
    settings = tmp_path / "book" / "shop.toml"
    settings.write_text(settings.read_text(encoding="utf-8") + "\n" + OWN, encoding="utf-8")
    return open_book(str(tmp_path / "book"))
