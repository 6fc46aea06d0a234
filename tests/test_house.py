"""The plan of the house as tests: floors, registries, sizes, documents in step with the code."""

from __future__ import annotations

import ast
import importlib
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCES = sorted(
    path
    for room in ("logbook", "dashboards", "sample_logs", "tests")
    for path in (ROOT / room).rglob("*.py")
)
PRODUCT = [path for path in SOURCES if path.relative_to(ROOT).parts[0] != "tests"]
LONGEST_FILE = 400
LONGEST_FUNCTION = 50
NOT_FOR_THE_DEMO = {"README.md", "truth.json", "faults_expected.json"}
LONG_BY_NATURE = {"fit"}
"""A solver's one loop may be long, by name."""


def _short(path: Path) -> str:
    return str(path.relative_to(ROOT))


def _tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def test_no_file_is_past_its_ceiling() -> None:
    lines = {_short(path): len(path.read_text("utf-8").splitlines()) for path in SOURCES}
    assert {name: count for name, count in lines.items() if count > LONGEST_FILE} == {}


def test_no_function_is_past_its_ceiling() -> None:
    lines = {
        (_short(path), node.name): _body_lines(node)
        for path in PRODUCT
        for node in ast.walk(_tree(path))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and node.name not in LONG_BY_NATURE
    }
    assert {name: count for name, count in lines.items() if count > LONGEST_FUNCTION} == {}


def _body_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    body = node.body[1:] if ast.get_docstring(node) else node.body
    return 0 if not body else (body[-1].end_lineno or 0) - body[0].lineno + 1


def test_every_module_says_what_it_is() -> None:
    assert [_short(path) for path in PRODUCT if not ast.get_docstring(_tree(path))] == []


def test_no_room_without_a_name() -> None:
    nameless = {"utils", "helpers", "core", "base", "common", "misc"}
    assert [_short(path) for path in PRODUCT if nameless & {path.stem, path.parent.name}] == []


QUESTION_FOLDERS = sorted(
    path for path in (ROOT / "logbook/questions").iterdir() if (path / "__init__.py").is_file()
)


def test_every_question_folder_is_in_the_registry() -> None:
    from logbook.questions import QUESTIONS

    rooms = {each.room.rsplit(".", 1)[1] for each in QUESTIONS.values()}
    assert rooms == {path.name for path in QUESTION_FOLDERS}


@pytest.mark.parametrize("folder", QUESTION_FOLDERS, ids=lambda folder: folder.name)
def test_a_question_has_every_part_and_a_test(folder: Path) -> None:
    from logbook.questions import QUESTIONS

    [question] = [each for each in QUESTIONS.values() if each.room.endswith(f".{folder.name}")]
    room = importlib.import_module(question.room)
    parts = {
        name: importlib.import_module(f"{question.room}.{name}")
        for name in ("result", "words", "tables")
    }
    assert {"QUESTION", "ask"} <= set(vars(room))
    assert {"title", "headline", "pressing", "sentences", "notes"} <= set(vars(parts["words"]))
    assert "tables" in vars(parts["tables"])
    assert "AnswerJson" in vars(parts["result"])
    # A figure, or a reason why there is none.
    assert (folder / "figure.py").is_file() == (question.no_figure is None)
    assert list((ROOT / "tests/unit/questions" / folder.name).glob("test_*.py"))


def test_every_page_is_listed() -> None:
    text = (ROOT / "dashboards/app.py").read_text(encoding="utf-8")
    pages = {path.stem for path in (ROOT / "dashboards/views").glob("*.py")} - {"__init__"}
    assert {page for page in pages if f"views/{page}.py" not in text} == set()


def test_readme_names_every_command_and_no_other() -> None:
    from logbook.cli.app import COMMANDS

    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    commands = {command.name for command in COMMANDS}
    assert {name for name in commands if f"logbook {name}" not in readme} == set()
    # Lines of code only: `logbook review …`, with or without --book.
    code = "\n".join(re.findall(r"```.*?\n(.*?)```", readme, flags=re.S))
    named = set(re.findall(r"\blogbook (?:--book \S+ )?([a-z]+)\b", code))
    assert named <= commands


def test_readme_test_command_is_what_ci_runs() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "bash .ci/run" in readme


def test_no_host_or_machine_path_in_tracked_files() -> None:
    tracked = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True, text=True
    ).stdout.split("\0")
    # Written in two halves so that this file does not find itself.
    forbidden = re.compile(
        "|".join(("files.python" + "hosted", "pypi.org/" + "simple", "/work/" + "main"))
    )
    found = []
    for name in filter(None, tracked):
        path = ROOT / name
        if path.suffix in {".png", ".xlsx", ".parquet"} or not path.is_file():
            continue
        if forbidden.search(path.read_text(encoding="utf-8", errors="replace")):
            found.append(name)
    assert found == []


def test_floors_hold() -> None:
    checked = subprocess.run(
        [str(Path(sys.executable).with_name("lint-imports")), "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert checked.returncode == 0, checked.stdout + checked.stderr


def test_the_wheel_holds_what_the_commands_need_and_nothing_beside(tmp_path: Path) -> None:
    build = (sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path))
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        held = {Path(name) for name in archive.namelist()}
    tops = {path.parts[0] for path in held if not path.parts[0].endswith(".dist-info")}
    assert tops == {"logbook", "dashboards"}
    samples = {
        Path("logbook/assets") / path
        for path in _files("sample_logs")
        if path.suffix != ".py" and path.name not in NOT_FOR_THE_DEMO
    }
    code = {path for room in tops for path in _files(room)}
    assert {path for path in held if path.parts[0] in tops} == code | samples


def _files(room: str) -> list[Path]:
    files = (path for path in (ROOT / room).rglob("*") if path.is_file())
    return [path.relative_to(ROOT) for path in files if path.suffix != ".pyc"]
