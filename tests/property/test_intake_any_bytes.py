"""No bytes whatever make intake raise anything but its own errors, and no row is ever lost."""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.errors import NotARunSheet
from logbook.runs.intake import open_sheet, parse_sheet, write_rejects
from logbook.shop import Shop

NOW = datetime(2026, 11, 25, 12, 0)
FRAME = pl.DataFrame(
    {
        "run_ref": ["R1", "R2", "R3"],
        "finished_at": [NOW, NOW, None],
        "backing_supplier": ["Alder", "alder ", 'Bir"ch'],
        "pieces_sewn": [24, 12, 7],
        "speed_spm": [750.5, None, 20.0],
        "puckering": [1, 99, None],
        "notes": ["a, b", "two\nlines", ""],
    }
)


def as_bytes(ending: str) -> bytes:
    out = io.BytesIO()
    if ending == ".xlsx":
        FRAME.write_excel(out)
    elif ending == ".parquet":
        FRAME.write_parquet(out)
    else:
        FRAME.write_csv(out)
    return out.getvalue()


VALID = {ending: as_bytes(ending) for ending in (".csv", ".xlsx", ".parquet")}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    return tmp_path_factory.mktemp("sheets")


def survives(path: Path, data: bytes) -> None:
    path.write_bytes(data)
    try:
        raw = open_sheet(path)
    except NotARunSheet:
        return
    parsed = parse_sheet(raw, shop=Shop(), known={}, now=NOW)
    places = [*parsed.good_positions, *(reject.position for reject in parsed.rejects)]
    assert sorted(places) == list(range(raw.rows))
    assert all(reject.reason for reject in parsed.rejects)
    if parsed.rejects:
        written, _ = write_rejects(raw, parsed.rejects)
        again = open_sheet(written)
        assert again.rows == len(parsed.rejects)
        assert parse_sheet(again, shop=Shop(), known={}, now=NOW).good.is_empty()
        written.unlink()


@pytest.mark.parametrize("ending", VALID)
@given(data=st.binary(max_size=400))
@settings(max_examples=60, deadline=None)
def test_any_bytes(folder: Path, ending: str, data: bytes) -> None:
    survives(folder / f"a{ending}", data)


@pytest.mark.parametrize("ending", VALID)
@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_a_sheet_with_bytes_changed(folder: Path, ending: str, data: st.DataObject) -> None:
    sheet = bytearray(VALID[ending])
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(sheet)))
        end = data.draw(st.integers(start, min(start + 8, len(sheet))))
        sheet[start:end] = data.draw(st.binary(max_size=8))
    survives(folder / f"b{ending}", bytes(sheet))


@pytest.mark.parametrize("ending", VALID)
@given(data=st.data())
@settings(max_examples=30, deadline=None)
def test_a_sheet_cut_off(folder: Path, ending: str, data: st.DataObject) -> None:
    sheet = VALID[ending]
    survives(folder / f"c{ending}", sheet[: data.draw(st.integers(0, len(sheet)))])


HEADERS = (
    "finished_at,pieces_sewn,gaps",
    "finished_at;pieces_sewn;gaps;notes",
    "Gaps\tPieces Sewn\tFinished-At",
)
PIECES = (
    '"',
    '""',
    ",",
    ";",
    "\t",
    "\n",
    "\r\n",
    "\r",
    "2026-10-05",
    "24",
    "1",
    " ",
    "=1+1",
    "é",
    "x",
)


@given(header=st.sampled_from(HEADERS), pieces=st.lists(st.sampled_from(PIECES), max_size=60))
@settings(max_examples=150, deadline=None)
def test_a_header_and_any_jumble_of_cells(folder: Path, header: str, pieces: list[str]) -> None:
    survives(folder / "d.csv", f"{header}\n{''.join(pieces)}".encode())
