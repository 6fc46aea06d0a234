"""The recipes of DEVELOPERS.md, performed on a copy: what they add is in every face."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
WALK = "tests/program/test_every_column.py"
COLUMN = """    _open("thread_maker", "Maker of the thread", "job", "job", "Who and what"),
"""
KIND = """    DefectKind(
        name="mending_marks",
        label="Mending marks",
        measure="pieces",
        definition="Where a seam was opened and closed again, it can be seen from the face.",
        usual_levers=("operator",),
        remedies=("Send the piece to the best mender.",),
        source="common practice",
    ),
"""
STEP = """    Migration(
        {number},
        "makers of threads and mending marks",
        (
            "ALTER TABLE runs ADD COLUMN thread_maker VARCHAR",
            "ALTER TABLE runs ADD COLUMN mending_marks BIGINT",
        ),
    ),
"""


def put_in(path: Path, before: str, added: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(before) == 1, f"{path.name}: {before!r}"
    path.write_text(text.replace(before, added + before), encoding="utf-8")


def walked(copy: Path, *more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "--tb=line", *more],
        cwd=copy,
        env={**os.environ, "PYTHONPATH": str(copy)},
        capture_output=True,
        text=True,
        check=False,
    )


FACES = """
from logbook import service
from logbook.book.runs import log_run
from logbook.questions import QUESTIONS
from logbook.service.api.app import api
from logbook.store import new_book
from starlette.testclient import TestClient
from streamlit.testing.v1 import AppTest
from datetime import datetime

book = new_book("book")
run = {"machine": "M1", "pieces_inspected": 20, "puckering": 2, "pieces_spoiled": 1}
log_run(book, {"finished_at": datetime(2026, 10, 5, 12), **run}, source="test")
question = QUESTIONS["scrap"]
said = question.answer(book, question.parsed({"by": "machine"})).headline
service.set_book(book)
told = TestClient(api()).get("/scrap?by=machine")
assert told.json()["finding"] == said, told.text
page = AppTest.from_string(
    "from dashboards.question_page import show\\n"
    "from logbook.questions import QUESTIONS\\n"
    "show(QUESTIONS['scrap'])",
    default_timeout=60,
)
page.query_params["by"] = "machine"
page.run()
assert not page.exception, page.exception
assert any(said.split(":")[0] in each.value for each in page.markdown)
service.set_book(None)
book.close()
from logbook.cli.app import application
from typer.testing import CliRunner
asked = CliRunner().invoke(application, ["--book", "book", "scrap", "--by", "machine", "--json"])
assert said in asked.stdout, asked.output
"""


def _copied(copy: Path) -> None:
    for name in ("logbook", "dashboards", "sample_logs"):
        ignored = shutil.ignore_patterns("__pycache__", "*.csv", "*.xlsx", "designs")
        shutil.copytree(ROOT / name, copy / name, ignore=ignored)


@pytest.mark.slow
def test_a_question_is_a_folder_and_a_line(tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    _copied(copy)
    questions = copy / "logbook/questions"
    shutil.copytree(questions / "where", questions / "scrap")
    for path in (questions / "scrap").glob("*.py"):
        text = path.read_text(encoding="utf-8").replace("questions.where", "questions.scrap")
        path.write_text(text.replace('name="where"', 'name="scrap"'), encoding="utf-8")
    put_in(questions / "__init__.py", "        where.QUESTION,", "        scrap.QUESTION,\n")
    text = (questions / "__init__.py").read_text(encoding="utf-8")
    imported = next(line for line in text.splitlines() if line.startswith("from logbook.questions"))
    put_in(questions / "__init__.py", imported, "from logbook.questions import scrap\n")
    done = subprocess.run(
        [sys.executable, "-c", FACES],
        cwd=copy,
        env={**os.environ, "PYTHONPATH": str(copy)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.slow
def test_a_column_and_a_kind_are_one_row_or_entry_and_one_migration(tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    _copied(copy)
    for name in ("pyproject.toml", "tests/conftest.py"):
        (copy / name).parent.mkdir(exist_ok=True)
        shutil.copy(ROOT / name, copy / name)
    shutil.copytree(ROOT / "tests/program", copy / "tests/program")
    put_in(copy / "logbook/runs/columns.py", '    _open("fabric", "Fabric"', COLUMN)
    looks = copy / "logbook/vocabulary/defects/looks.py"
    put_in(looks, '    DefectKind(\n        name="gaps"', KIND)
    without = walked(copy, WALK, "-k", "step_of_the_book")
    assert "add a Migration to store/migrations.py for" in without.stdout
    assert {"thread_maker", "mending_marks"} <= set(re.findall(r"\w+", without.stdout))

    schema = copy / "logbook/store/migrations.py"
    newest = max(map(int, re.findall(r"Migration\(\s*(\d+)", schema.read_text("utf-8"))))
    put_in(schema, ")\n\nNEWEST = ", STEP.format(number=newest + 1))
    done = walked(copy, WALK)
    assert done.returncode == 0, done.stdout
    faces = "from logbook.runs.columns import run_schema; print(*run_schema())"
    known = subprocess.run(
        [sys.executable, "-c", faces], cwd=copy, capture_output=True, text=True, check=True
    )
    assert {"thread_maker", "mending_marks"} <= set(known.stdout.split())
