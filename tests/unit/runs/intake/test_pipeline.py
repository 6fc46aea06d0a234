"""The pipeline: every row comes out once, good or rejected; references; quality notes."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from logbook.runs.columns import run_schema
from logbook.runs.intake import Parsed, open_sheet, parse_sheet
from logbook.shop import Shop, shop_from

NOW = datetime(2026, 11, 25, 12, 0)
HEADER = "run_ref,finished_at,pieces_sewn,puckering,backing_supplier"


def taken(folder: Path, text: str, *, shop: Shop | None = None, now: datetime = NOW) -> Parsed:
    path = folder / "october.csv"
    path.write_text(text)
    shop = shop or Shop()
    raw = open_sheet(path, own=shop.own)
    return parse_sheet(
        raw, shop=shop, known={"backing_supplier": ("Alder",)}, now=now, chunk_rows=2
    )


def test_rows_are_parted_and_keep_their_places(tmp_path: Path) -> None:
    told: list[int] = []
    path = tmp_path / "october.csv"
    path.write_text(
        f"{HEADER}\nR1,2026-10-05,24,1,alder\nR2,2026-10-05,24,25,\nR3,2026-10-05,x,1,\n"
        "R4,2026-10-05,24,1,Birch,stray\nR5,2026-10-05,24,,\n"
    )
    raw = open_sheet(path)
    found = parse_sheet(raw, shop=Shop(), known={}, now=NOW, progress=told.append, chunk_rows=2)
    assert dict(found.good.schema) == run_schema()
    assert found.good["run_ref"].to_list() == ["R1", "R5"]
    assert found.good_positions.to_list() == [0, 4]
    assert [(reject.position, reject.column) for reject in found.rejects] == [
        (1, "puckering"),
        (2, "pieces_sewn"),
        (3, ""),
    ]
    assert found.rows == sum(told) == 5


def test_an_unreadable_exposure_is_not_also_called_missing(tmp_path: Path) -> None:
    found = taken(tmp_path, f"{HEADER}\nR1,2026-10-05,two dozen,1,\n")
    assert [reject.column for reject in found.reasons] == ["pieces_sewn"]


def test_references_are_made_from_the_content(tmp_path: Path) -> None:
    text = f"{HEADER}\n,2026-10-05,24,1,\nR2,2026-10-05,24,1,\n,2026-10-06,24,1,\n"
    first, again = taken(tmp_path, text), taken(tmp_path, text)
    made = first.good["run_ref"].to_list()
    assert made[1] == "R2"
    assert made[0] != made[2]
    assert again.good.equals(first.good)


def test_twins_without_reference_are_runs_of_their_own_and_told(tmp_path: Path) -> None:
    found = taken(tmp_path, f"{HEADER}\n,2026-10-05,24,1,\n,2026-10-05,24,1,\n")
    assert found.good["run_ref"].n_unique() == 2
    assert any("repeated an earlier row to the letter" in note for note in found.notes)


def test_a_spelling_does_not_make_another_reference(tmp_path: Path) -> None:
    one = taken(tmp_path, f"{HEADER}\n,2026-10-05,24,1,Alder\n")
    other = taken(tmp_path, f"{HEADER}\n,2026-10-05,24,1, ALDER \n")
    assert one.good.equals(other.good)


def test_the_same_reference_twice(tmp_path: Path) -> None:
    found = taken(
        tmp_path,
        f"{HEADER}\nR1,2026-10-05,24,1,\nR2,2026-10-05,24,1,\nR1,2026-10-05,24,1,\n"
        "R1,2026-10-05,24,2,\nR1,2026-10-05,24.0,1,\n",
    )
    # The store skips rows that agree with the first; the one that does not is a conflict.
    assert found.good_positions.to_list() == [0, 1, 2, 4]
    ((position, column, reason),) = [(r.position, r.column, r.reason) for r in found.rejects]
    assert (position, column) == (3, "run_ref")
    assert "also in row 2 of this sheet, with other content" in reason


def test_moments_come_in_the_shops_zone(tmp_path: Path) -> None:
    shop = shop_from({"shop": {"timezone": "Europe/Lisbon"}})
    found = taken(tmp_path, f"{HEADER}\nR1,2026-07-05T10:00Z,24,1,\n", shop=shop)
    assert found.good["finished_at"].item() == datetime(2026, 7, 5, 11)


@pytest.mark.parametrize(
    "now", [datetime(2026, 7, 5, 10, 30), datetime(2026, 7, 5, 9, 30, tzinfo=UTC)]
)
def test_a_finish_in_the_future_is_kept_and_told(tmp_path: Path, now: datetime) -> None:
    shop = shop_from({"shop": {"timezone": "Europe/Lisbon"}})
    text = f"{HEADER}\nR1,2026-07-05T10:31,24,1,\nR2,2026-07-05T10:30,24,1,\n"
    found = taken(tmp_path, text, shop=shop, now=now)
    assert found.good.height == 2
    assert "1 row finished in the future (row 2): check the dates" in found.notes


def test_breaks_without_stitches_are_told(tmp_path: Path) -> None:
    header = "finished_at,pieces_sewn,stitches_per_piece,stitches_sewn,thread_breaks"
    rows = ["24,,,1", "24,900,,1", "24,,21600,1", "24,,,", ",900,5,2"]
    found = taken(tmp_path, f"{header}\n" + "".join(f"2026-10-05,{row}\n" for row in rows))
    (note,) = found.notes
    assert note.startswith("1 row recorded breaks or nests but not the stitches")


def test_spaces_round_names_are_told(tmp_path: Path) -> None:
    found = taken(tmp_path, f"{HEADER}\nR1,2026-10-05,24,1,Alder \nR2,2026-10-05,24,1,Alder\n")
    assert found.good["backing_supplier"].to_list() == ["Alder", "Alder"]
    assert found.notes == ("backing_supplier: spaces round 'Alder' were taken off",)


def test_a_kind_of_the_shops_own_is_read_and_judged(tmp_path: Path) -> None:
    shop = shop_from({"defect_kind": [{"name": "loose_ends"}]})
    text = "finished_at,pieces_sewn,Loose ends\n2026-10-05,24,3\n2026-10-05,24,25\n"
    found = taken(tmp_path, text, shop=shop)
    assert found.good["loose_ends"].to_list() == [3]
    assert found.rejects[0].column == "loose_ends"


def test_a_sheet_without_rows_is_an_empty_frame(tmp_path: Path) -> None:
    found = taken(tmp_path, f"{HEADER}\n")
    assert dict(found.good.schema) == run_schema()
    assert (found.rows, found.rejects) == (0, ())


def test_needle_parts_not_found_let_the_run_in_to_be_held(tmp_path: Path) -> None:
    header = "finished_at,pieces_sewn,needle_breaks,needle_parts_found"
    found = taken(tmp_path, f"{header}\n2026-10-05,24,1,no\n2026-10-05,24,1,\n")
    assert found.good["needle_parts_found"].to_list() == [False]
    assert found.rejects[0].column == "needle_parts_found"


def test_the_first_rows_in_the_future_are_named(tmp_path: Path) -> None:
    shop = shop_from({"shop": {"timezone": "Europe/Lisbon"}})
    rows = "".join(f"R{number},2027-07-05,24,1,\n" for number in range(5))
    text = f"{HEADER}\nR9,2026-07-05T10:30,24,1,\nR8,never,24,1,\n{rows}"
    found = taken(tmp_path, text, shop=shop, now=datetime(2026, 7, 5, 11))
    late = "5 rows finished in the future (row 4, row 5, row 6 and 2 more): check the dates"
    assert late in found.notes
