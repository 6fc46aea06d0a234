"""Some days or one site only, on every page that answers from runs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from small_shop import RUNS_A_WEEK, small_book
from streamlit.testing.v1 import AppTest

from dashboards.narrowing import CROSSED, Narrowing
from logbook import service
from logbook.questions.suppliers import SuppliersParameters, ask
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

APP = Path(__file__).parents[3] / "dashboards" / "app.py"
SECONDS = 60
VIEWS = {
    "suppliers": "views/suppliers.py",
    "factors": "views/factors.py",
    "plan": "views/plan_setup.py",
}
QUESTIONS = {"plan": "advise"}
"""What is asked on a page, where it is not the page's name."""
NORTHGATE, SOUTHGATE = "North & <gate>", "Southgate"
JULY, AUGUST = date(2026, 7, 6), date(2026, 8, 2)
"""Four whole weeks of the small shop's runs."""


@pytest.fixture(scope="module")
def two_sites(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    """The small shop's weeks, every second run at another site."""
    folder = tmp_path_factory.mktemp("sites")
    with small_book(folder / "one") as one:
        runs = one.runs()
        settings = (folder / "one" / "shop.toml").read_text()
    second = pl.int_range(pl.len()) % 2 == 1
    store = new_book(str(folder / "two"), settings=settings)
    sites = pl.when(second).then(pl.lit(SOUTHGATE)).otherwise(pl.lit(NORTHGATE))
    store.put(runs.with_columns(site=sites), source="test")
    service.set_book(store)
    yield store
    service.close_book()


@pytest.fixture
def one_site(held: Callable[[DuckStore], DuckStore], tmp_path: Path) -> DuckStore:
    return held(small_book(tmp_path / "book"))


def page(name: str, **asked: str) -> AppTest:
    app = AppTest.from_file(str(APP), default_timeout=SECONDS).run()
    app.switch_page(VIEWS[name])
    for each, value in asked.items():
        app.query_params[each] = value
    app.run()
    assert not app.exception
    return app


def address(app: AppTest) -> dict[str, Any]:
    told = dict(app.query_params)
    return {name: value[0] if isinstance(value, list) else value for name, value in told.items()}


def narrowed_to(app: AppTest) -> str:
    """The line above the answer, empty where there is none."""
    lines = [each.body for each in app.get("html") if 'class="narrowed"' in each.body]
    assert len(lines) <= 1
    return lines[0].partition("</span>")[0].rpartition("<span>")[2] if lines else ""


def expander(app: AppTest) -> Any:
    return next(each for each in app.expander if each.label.startswith("Only some days"))


def headline(app: AppTest) -> str:
    said = [each.value for each in app.markdown if each.value.startswith("##### ")]
    return said[0] if said else ""


@pytest.mark.parametrize("name", VIEWS)
def test_all_runs_are_the_answer_until_something_is_chosen(two_sites: DuckStore, name: str) -> None:
    app = page(name)
    assert expander(app).label == "Only some days or one site"
    assert not expander(app).proto.expanded
    assert narrowed_to(app) == ""
    assert not {"since", "until", "site"} & address(app).keys()


@pytest.mark.parametrize("name", VIEWS)
def test_a_narrowed_view_that_was_sent_opens_as_it_was(two_sites: DuckStore, name: str) -> None:
    asked = {"since": JULY.isoformat(), "until": AUGUST.isoformat(), "site": NORTHGATE}
    app = page(name, **asked)
    assert expander(app).proto.expanded
    assert narrowed_to(app) == "Only runs of 6 Jul 2026 to 2 Aug 2026 at North &amp; &lt;gate&gt;."
    assert asked.items() <= address(app).items()
    assert app.date_input(key=f"{QUESTIONS.get(name, name)}-since").value == JULY
    assert app.selectbox(key=f"{QUESTIONS.get(name, name)}-site").value == NORTHGATE


def test_choosing_narrows_the_answer_again_and_again(two_sites: DuckStore) -> None:
    app = page("suppliers", defect="any")
    whole = inspected(app)
    app.date_input(key="suppliers-since").set_value(JULY).run()
    app.date_input(key="suppliers-since").set_value(JULY + timedelta(days=7)).run()
    app.date_input(key="suppliers-until").set_value(AUGUST).run()
    app.selectbox(key="suppliers-site").set_value(SOUTHGATE).run()
    assert not app.exception
    assert address(app)["since"] == "2026-07-13"
    asked = SuppliersParameters(since=date(2026, 7, 13), until=AUGUST, site=SOUTHGATE)
    truth = ask(two_sites, asked)
    assert inspected(app) == sum(row.counted.runs for row in truth.suppliers)
    assert inspected(app) == 3 * RUNS_A_WEEK // 2 < whole
    app.date_input(key="suppliers-since").set_value(None).run()
    app.date_input(key="suppliers-until").set_value(None).run()
    app.selectbox(key="suppliers-site").set_value("").run()
    assert narrowed_to(app) == ""
    assert inspected(app) == whole


def inspected(app: AppTest) -> int:
    """How many runs the table of suppliers rests on: its first column of figures."""
    table = next(each.body for each in app.get("html") if "Suppliers side by side" in each.body)
    rows = table.partition("<tbody>")[2].split("<tr>")[1:]
    return sum(int(row.split("<td")[1].partition(">")[2].partition("<")[0]) for row in rows)


def test_the_way_back_keeps_what_else_was_asked(two_sites: DuckStore) -> None:
    app = page("suppliers", defect="puckering", reference="Cedar", site=SOUTHGATE)
    line = next(each.body for each in app.get("html") if 'class="narrowed"' in each.body)
    assert 'href="?defect=puckering&amp;reference=Cedar"' in line


@pytest.mark.parametrize("name", VIEWS)
@pytest.mark.parametrize(
    "nonsense",
    [
        {"since": "yesterday"},
        {"until": "2026-02-31"},
        {"since": "0001-01-01", "until": "9999-12-31"},
        {"site": "Nowhere"},
    ],
)
def test_nonsense_in_the_address_is_passed_over(
    two_sites: DuckStore, name: str, nonsense: dict[str, str]
) -> None:
    app = page(name, **nonsense)
    assert narrowed_to(app) == ""
    assert not expander(app).proto.expanded
    assert not nonsense.keys() & address(app).keys()
    strange = [each.value for each in app.info if "no site Nowhere" in each.value]
    assert len(strange) == ("site" in nonsense)


@pytest.mark.parametrize("name", VIEWS)
def test_days_the_wrong_way_round_get_one_sentence_and_no_answer(
    two_sites: DuckStore, name: str
) -> None:
    app = page(name, since=AUGUST.isoformat(), until=JULY.isoformat())
    assert [each.value for each in app.info] == [CROSSED]
    assert headline(app) == ""
    assert narrowed_to(app) == ""
    assert app.date_input(key=f"{QUESTIONS.get(name, name)}-since").value == AUGUST


@pytest.mark.parametrize("name", VIEWS)
def test_days_without_runs_are_said_under_what_was_asked(two_sites: DuckStore, name: str) -> None:
    app = page(name, since="2026-12-01")
    assert narrowed_to(app) == "Only runs since 1 Dec 2026."
    assert len(app.info) == 1
    assert headline(app) == ""


@pytest.mark.parametrize("name", ["suppliers", "factors"])
def test_a_download_is_of_the_same_runs_and_named_by_them(two_sites: DuckStore, name: str) -> None:
    whole, some = page(name, defect="puckering"), page(name, defect="puckering", site=SOUTHGATE)
    assert csv_keys(whole) == [f"csv-{name}-puckering"]
    assert csv_keys(some) == [f"csv-{name}-puckering-southgate"]


def csv_keys(app: AppTest) -> list[str]:
    return [each.key for each in app.get("download_button") if each.key.startswith("csv-")]


def test_a_book_of_one_site_is_asked_for_days_only(one_site: DuckStore) -> None:
    app = page("suppliers", site="Shop", since=JULY.isoformat())
    assert expander(app).label == "Only some days"
    assert not [each for each in app.selectbox if each.label == "Site"]
    assert narrowed_to(app) == "Only runs since 6 Jul 2026."
    assert "site" not in address(app)


@pytest.mark.parametrize(
    ("narrowing", "words", "file_name"),
    [
        (Narrowing(), "", "figures"),
        (
            Narrowing(date(2026, 3, 1), date(2026, 4, 30), "Northgate"),
            "Only runs of 1 Mar 2026 to 30 Apr 2026 at Northgate",
            "figures-since-2026-03-01-until-2026-04-30-northgate",
        ),
        (
            Narrowing(date(2026, 3, 1), date(2026, 3, 1)),
            "Only runs of 1 Mar 2026",
            "figures-since-2026-03-01-until-2026-03-01",
        ),
        (
            Narrowing(until=date(2026, 4, 30)),
            "Only runs up to 30 Apr 2026",
            "figures-until-2026-04-30",
        ),
        (Narrowing(site="Halle 2/Süd"), "Only runs at Halle 2/Süd", "figures-halle-2-süd"),
    ],
)
def test_it_is_said_in_words_and_in_the_names_of_files(
    narrowing: Narrowing, words: str, file_name: str
) -> None:
    assert narrowing.words() == words
    assert narrowing.file_name("figures") == file_name
