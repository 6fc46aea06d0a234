"""The page on which a sheet is brought in: empty book first, then asked, confirmed, taken back."""

from __future__ import annotations

import pytest
from messy_sheets.styles_of_lists import undecided_dates
from messy_sheets.styles_with_titles import american_workbook
from streamlit.testing.v1 import AppTest

from logbook.book.sheet_readings import sheet_readings
from logbook.store.duckdb_store import DuckStore

STRICT = "finished_at,machine,pieces_inspected,gaps\n2025-10-30,M1,24,1\n2025-10-31,M1,24,99\n"


@pytest.fixture
def page(app: AppTest) -> AppTest:
    app.switch_page("views/bring.py")
    return app


def shown(app: AppTest) -> str:
    """Everything on the page, without the style sheets."""
    texts = [*app.markdown, *app.info, *app.warning, *app.error, *app.success, *app.caption]
    texts += [*app.subheader]
    html = [each.body.partition("<style>")[0] for each in app.get("html")]
    return "\n".join([*(each.value.replace("\\", "") for each in texts), *html])


def send(app: AppTest, name: str, data: bytes) -> AppTest:
    app.run()
    assert not app.exception
    app.file_uploader[0].set_value((name, data, "application/octet-stream")).run()
    assert not app.exception
    return app


def tap(app: AppTest, label: str) -> AppTest:
    next(each for each in app.button if each.label == label).click().run()
    assert not app.exception
    return app


def answer(app: AppTest, choice: str) -> AppTest:
    app.button_group[0].set_value(choice).run()
    assert not app.exception
    return app


def test_an_empty_book_takes_a_workbook_by_one_answer_and_one_confirmation(
    without_runs: DuckStore, page: AppTest
) -> None:
    sheet = american_workbook()
    send(page, sheet.file, sheet.data)
    words = shown(page)
    assert "40 rows, 40 runs" in words
    assert "Are the Stitches (9,875) those of one piece" in words
    assert "Row 5 as it stands" in words
    assert "Cut-away" in words
    # What is open is asked first: nothing can be confirmed yet.
    assert not [each for each in page.button if each.label.startswith("Bring")]
    assert without_runs.count() == 0
    answer(page, "stitches_per_piece")
    tap(page, "Bring these runs in")
    words = shown(page)
    assert "40 new runs are in the book." in words
    assert "It can answer: how many pieces are bad, week by week" in words
    assert "One column would help most: Backing supplier." in words
    assert "Every row was taken." in words
    stitches = without_runs.runs()["stitches_per_piece"]
    assert sorted(stitches) == sorted(int(run["stitches_per_piece"]) for run in sheet.runs)
    assert list(sheet_readings(without_runs)) == ["daily log"]


def test_the_same_sheet_comes_again_without_a_question(
    with_one_run: DuckStore, page: AppTest
) -> None:
    sheet = undecided_dates()
    answer(send(page, sheet.file, sheet.data), "month_first")
    tap(page, "Bring these runs in")
    assert with_one_run.count() == 21
    send(page, "april.csv", sheet.data)
    assert "Which number" not in shown(page)
    assert not page.button_group
    tap(page, "Bring these runs in")
    assert "0 new runs are in the book. 20 were there already." in shown(page).replace("**", "")
    # Somebody was wrong about the days: asked anew, and not doubled.
    send(page, "april.csv", sheet.data)
    tap(page, "Ask anew how it is read")
    assert len(page.button_group) == 1


def test_what_cannot_be_taken_is_offered_to_be_mended_and_an_import_is_taken_back(
    with_one_run: DuckStore, page: AppTest
) -> None:
    send(page, "week <b>.csv", STRICT.encode())
    words = shown(page)
    assert "2 rows, 1 run; 1 cannot be taken yet" in words
    assert "Not taken:" in words
    tap(page, "Bring this run in")
    words = shown(page)
    assert "1 row was not taken" in words
    assert page.download_button[0].label == "Download the rows to mend"
    assert with_one_run.count() == 2
    tap(page, "Take this import back")
    assert "was taken back: 1 run was withdrawn." in shown(page)
    assert with_one_run.count() == 1
    assert not [each for each in page.button if each.label == "Take this import back"]


def test_rows_are_pasted(with_one_run: DuckStore, page: AppTest) -> None:
    page.run()
    page.text_area[0].set_value("Date\tMachine\tPcs\tGaps\n30/10/2025\tM1\t24\t1\n").run()
    tap(page, "Look at these rows")
    assert "1 row, 1 run" in shown(page)
    # They stay while something else is tapped.
    tap(page, "Bring this run in")
    assert with_one_run.count() == 2


def test_what_is_no_sheet_is_said_in_words(with_one_run: DuckStore, page: AppTest) -> None:
    send(page, "letter.txt", b"Dear Sir,\nplease find enclosed nothing.\n")
    assert "No row of letter.txt names the columns of runs" in shown(page)
    send(page, "../..", b"PAR1 no parquet at all PAR1")
    assert page.error
    assert with_one_run.count() == 1


def test_it_is_for_reviewers(
    with_one_run: DuckStore, page: AppTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dashboards.shared.role", lambda: "operator")
    page.run()
    assert "Bringing in a sheet is for reviewers." in shown(page)
    assert not page.file_uploader


def test_an_empty_book_leads_here(without_runs: DuckStore, app: AppTest) -> None:
    app.run()
    app.switch_page("views/today.py").run()
    assert "**Bring in a sheet**: your own spreadsheet" in shown(app)
    app.switch_page("views/runs.py").run()
    assert 'href="/bring"' in shown(app)
