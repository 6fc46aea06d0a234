"""Writes the sheet with every fault that intake must survive, and the fate of each row."""

import csv
import io
import json
from pathlib import Path
from typing import Any

from sample_logs.fault_rows import COLUMNS, ROWS, FaultRow

__all__ = ["write_faults"]

GOOD_RUN: dict[str, str] = {
    "machine": "M3 four-head",
    "operator": "Bea L.",
    "job": "J9001 Tarn Cycling",
    "design": "Heron crest",
    "head_count": "4",
    "fabric": "pique polo",
    "fabric_shade": "light",
    "fabric_sheer": "false",
    "backing": "cut_away",
    "backing_gsm": "60",
    "backing_layers": "1",
    "backing_supplier": "Alder",
    "topping": "none",
    "needle_nm": "75",
    "speed_spm": "780",
    "stitches_sewn": "150000",
    "pieces_sewn": "24",
    "pieces_inspected": "24",
    "pieces_spoiled": "0",
    "pieces_reworked": "1",
    "pieces_defective": "2",
    "rework_minutes": "9",
    "puckering": "1",
    "gaps": "1",
    "thread_breaks": "3",
    "needle_breaks": "0",
    "needle_parts_found": "",
    "pucker_grade": "4",
}


def write_faults(folder: Path) -> list[Path]:
    """Write ``faults.csv`` and ``faults_expected.json`` into a folder and return their paths."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(COLUMNS)
    expected = []
    for row_number, row in enumerate(ROWS, start=1):
        line = out.getvalue().count("\n") + 1
        csv.writer(out, lineterminator="\n").writerow(_cells(row, row_number))
        expected.append(_expected(row, row_number, line))
    sheet = folder / "faults.csv"
    sheet.write_bytes(out.getvalue().encode("utf-8"))
    answers = folder / "faults_expected.json"
    answers.write_bytes((json.dumps(_answers(expected), indent=1) + "\n").encode("utf-8"))
    return [sheet, answers]


def _cells(row: FaultRow, row_number: int) -> list[str]:
    if row.blank:
        return [""] * len(COLUMNS) if row.blank == "cells" else []
    minute = row_number if row.cells.get("run_ref") != "F-TWIN" else 0
    cells = GOOD_RUN | {
        "run_ref": f"F-{row_number:03d}",
        "finished_at": f"2026-10-{29 + minute // 60}T14:{minute % 60:02d}",
        "notes": f"tests: {row.tests}" if row.notes is None else row.notes,
    }
    cells |= row.cells
    return [*(cells[name] for name in COLUMNS), *row.extra]


def _expected(row: FaultRow, row_number: int, line: int) -> dict[str, Any]:
    return {
        "row": row_number,
        "line": line,
        "tests": row.tests,
        "outcome": row.outcome,
        "column": row.columns[0] if row.columns else None,
        "columns": list(row.columns),
        "held": row.held,
    }


def _answers(rows: list[dict[str, Any]]) -> dict[str, Any]:
    outcomes = [row["outcome"] for row in rows]
    return {
        "file": "faults.csv",
        "about": "row counts data rows from 1, empty ones too; line is the row's first line in the "
        "file, the header being line 1; columns are those a reason may name, likeliest first",
        "counts": {name: outcomes.count(name) for name in ("good", "reject", "skip")},
        "rows": rows,
    }
