"""Commands made of questions, as a user meets them: words first, slips told plainly."""

from __future__ import annotations

import io
import json
from pathlib import Path

import polars as pl
import pytest
from planted_cells import planted
from rich.console import Console
from small_shop import PIECES, RUNS_A_WEEK, SCRIPT, WEEKS_BEFORE, small_book
from typer.testing import CliRunner, Result

from logbook.cli.app import application
from logbook.cli.render import show_answer
from logbook.questions.answer import Answer
from logbook.questions.factors import QUESTION, FactorsParameters
from logbook.questions.factors.analyse import analyse
from logbook.shop import Shop
from logbook.store import new_book
from logbook.vocabulary.defects import kind

ALL_RUNS = RUNS_A_WEEK * (WEEKS_BEFORE + 1)
WIDTH = 130
ASKED = ("factors", "--defect", "puckering")


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("factors") / "book"
    small_book(place).close()
    return place


def run(book: Path, *words: str) -> Result:
    return CliRunner().invoke(application, ["--book", str(book), *words], prog_name="logbook")


def test_json_is_one_object_with_the_contracts_fields(shop: Path) -> None:
    done = run(shop, *ASKED, "--json")
    assert done.exit_code == 0
    assert done.stdout.count("\n") == 1
    answer = json.loads(done.stdout)
    assert answer["defect"] == "puckering"
    assert answer["pieces_inspected"] == ALL_RUNS * PIECES
    assert {each["factor"] for each in answer["effects"]} >= {"machine", "backing_supplier"}
    assert isinstance(answer["notes"], list)


def test_words_come_before_figures(shop: Path) -> None:
    result = run(shop, *ASKED)
    assert result.exit_code == 0
    answer = json.loads(run(shop, *ASKED, "--json").stdout)
    flat = " ".join(result.stdout.split())
    assert flat.startswith("Shop")
    assert answer["finding"] in flat
    for note in answer["notes"]:
        assert " ".join(note.split()) in flat


@pytest.mark.parametrize(("name", "unit"), [("puckering", 1.0), ("thread_breaks", 1000.0)])
def test_findings_stand_in_a_table_after_the_words(name: str, unit: float) -> None:
    cells = planted(seed=1, kind=name, exposure_unit=unit)
    speeds = {"solid": "slow", "close": "steady", "layered": "fast"}
    faster = pl.when(pl.col("density_band") == "layered").then(2).otherwise(1)
    cells = cells.with_columns(
        pl.col("density_band").replace(speeds).alias("speed_band"),
        (pl.col("count") * faster).clip(0, pl.col("exposure")).cast(pl.Int64).alias("count"),
        pl.lit("solid").alias("density_band"),
    )
    result = analyse(cells, kind=kind(name), shop=Shop())
    screen = Console(file=io.StringIO(), width=WIDTH)
    asked = FactorsParameters(defect=name)
    show_answer(screen, Answer(QUESTION, asked, result, Shop(name="Hollow Lane")))
    shown = screen.file.getvalue()  # type: ignore[attr-defined]
    table = shown.index("What stands out")
    assert shown.index("Hollow Lane") < table
    assert result.findings
    for each in result.findings:
        level = each.level_label.partition(", ")[0]
        assert f"{each.factor_label}: {level}" in shown[table:]
    assert "(99 %)" in shown[table:]
    assert shown.index("Speed, every level over the same") > table
    assert "Fast, 850 stitches a minute" in shown
    assert max(len(line) for line in shown.splitlines()) <= WIDTH


def test_text_of_users_is_shown_as_it_is(shop: Path) -> None:
    assert SCRIPT in run(shop, *ASKED).stdout.replace("\n", "")


@pytest.mark.parametrize(
    "words",
    [
        ("factors",),
        ("factors", "--defect", "sunshine"),
        (*ASKED, "--since", "yesterday"),
        (*ASKED, "--until", "2026-01-01", "--since", "2026-02-01"),
    ],
    ids=" ".join,
)
def test_wrong_usage_leaves_with_two(shop: Path, words: tuple[str, ...]) -> None:
    done = run(shop, *words)
    assert done.exit_code == 2
    assert done.stdout == ""


def test_without_a_kind_the_kinds_are_listed(shop: Path) -> None:
    done = run(shop, "factors")
    assert "name a defect with --defect: any, puckering, gaps" in done.stderr


def test_numbers_that_are_none_are_told_plainly(shop: Path) -> None:
    for said in ("abc", "-1", "inf"):
        done = run(shop, "suppliers", "--margin", said)
        assert done.exit_code == 2
        assert "such as 1 or 0.5" in done.stderr
    assert run(shop, "suppliers", "--margin", "0,5", "--json").exit_code == 0


def test_too_little_is_refused_in_words(shop: Path, tmp_path: Path) -> None:
    done = run(shop, "factors", "--defect", "sinking")
    assert done.exit_code == 1
    assert "too few to compare setups by" in done.stderr
    assert "hint:" in done.stderr
    told = json.loads(run(shop, "factors", "--defect", "sinking", "--json").stdout)
    assert told["error"] in told["notes"]
    new_book(str(tmp_path / "empty")).close()
    assert run(tmp_path / "empty", *ASKED).exit_code == 1


def test_every_answer_can_be_written_as_one_page(shop: Path, tmp_path: Path) -> None:
    place = tmp_path / "factors.html"
    done = run(shop, *ASKED, "--html", str(place))
    assert f"The page is in {place}" in done.stdout.replace("\n", "")
    page = place.read_text(encoding="utf-8")
    assert "levels that were looked at" in page
    assert "What to keep in mind" in page
    assert SCRIPT not in page


def test_a_kind_that_is_not_known_is_told_with_what_to_do(shop: Path) -> None:
    done = run(shop, "chart", "--defect", "puckring")
    assert done.exit_code == 2
    assert "Did you mean puckering?" in " ".join(done.output.split())
