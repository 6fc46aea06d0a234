"""While the pages are served, every command does and says what it does without them."""

from __future__ import annotations

import json
import signal
from pathlib import Path
from typing import Any

from program import answer, book_of, days, logbook, logbook_process, write_sheet
from served import serving


def rows(count: int) -> list[dict[str, Any]]:
    """Runs of two suppliers on one fabric."""
    return [
        {
            "run_ref": f"R{number}",
            "finished_at": day,
            "fabric": "twill",
            "backing": "cut_away",
            "backing_supplier": "Alder" if number % 2 else "Birch",
            "backing_lot": f"L{number % 4}",
            "topping": "none",
            "design": f"D{number % 3}",
            "pieces_inspected": 50,
            "puckering": number % 3,
            "gaps": number % 2,
        }
        for number, day in enumerate(days(count))
    ]


QUESTIONS = (
    ("review", "--week", "2026-W05"),
    ("chart", "--defect", "puckering"),
    ("suppliers", "--defect", "puckering"),
    ("factors", "--defect", "puckering"),
    ("advise", "--fabric", "twill"),
)


def test_questions_are_answered_alike_with_and_without_the_service(tmp_path: Path) -> None:
    place = book_of(tmp_path, rows(60))
    with serving(place) as served:
        through = {words: answer(*words, book=place) for words in QUESTIONS}
        (review, *_) = QUESTIONS
        assert answer(*review, book=place, run=logbook_process) == through[review]
        assert (place / "service.json").stat().st_mode & 0o777 == 0o600
        # A second service is refused, and the first goes on.
        logbook_process("serve", "--port", "8999", book=place, expect=1)
        assert served.process.poll() is None
    assert not (place / "service.json").exists()
    for words in QUESTIONS:
        assert answer(*words, book=place) == through[words]


def test_runs_are_logged_amended_withdrawn_and_imported_through_it(tmp_path: Path) -> None:
    place = book_of(tmp_path, rows(10))
    with serving(place):
        logbook(
            "add", "run_ref=X", "finished_at=2026-02-01", "pieces_inspected=5", "gaps=1", book=place
        )
        logbook("amend", "X", "gaps=2", book=place)
        logbook("withdraw", "R1", "--why", "twice in the book", book=place)
        good = {**rows(1)[0], "run_ref": "Y"}
        bad = {**rows(1)[0], "run_ref": "Z", "puckering": 99}
        sheet = write_sheet(tmp_path / "more.csv", [good, bad])
        told = json.loads(logbook("import", str(sheet), "--json", book=place, expect=3))
        assert (told["added"], told["rejected"]) == (1, 1)
        assert (tmp_path / "more.rejects.csv").exists()
        again = json.loads(logbook("import", str(sheet), "--json", book=place, expect=3))
        assert (again["added"], again["skipped"]) == (0, 1)
        logbook("backup", str(tmp_path / "book.zip"), book=place)
        logbook("export", str(tmp_path / "through.csv"), book=place)
    logbook("export", str(tmp_path / "after.csv"), book=place)
    through, after = ((tmp_path / f"{name}.csv").read_bytes() for name in ("through", "after"))
    assert through == after
    logbook("verify", str(tmp_path / "book.zip"), book=place)


def test_a_notice_left_by_a_killed_service_is_no_hindrance(tmp_path: Path) -> None:
    place = book_of(tmp_path, rows(3))
    with serving(place) as running:
        running.stop(signal.SIGKILL)
    assert (place / "service.json").exists()
    logbook(
        "add", "run_ref=X", "finished_at=2026-02-01", "pieces_inspected=5", "gaps=1", book=place
    )
