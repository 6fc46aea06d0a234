"""What is no whole stitch file is refused with one sentence: what, where, what to do."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pystitch
import pytest
from stitch_files import pattern_of, plain_fill, three_blocks, written

from logbook.errors import BrokenStitchFile, NotAStitchFile, StitchFileError, StitchFileTooLarge
from logbook.stitches import Command, Trims, design_of, read_design, reading, records
from logbook.stitches.formats import FORMATS

FILL = plain_fill(width=20, height=10, spacing=0.4, stitch=4)
MARKED = ("dst", "jef", "u01", "tbf", "xxx", "pec", "pes", "vp3")


def test_every_ending_with_something_known_is_read() -> None:
    readable = {known["extension"] for known in pystitch.supported_formats() if known.get("reader")}
    assert set(FORMATS) <= readable


def test_a_design_is_what_the_file_says() -> None:
    content = written(three_blocks(), "vp3")
    design = design_of(content, file_name="Blocks.VP3")
    assert design.ending == "vp3"
    assert design.content_hash == hashlib.sha256(content).hexdigest()
    assert design.colours == ("#0a55a3", "#ed171f", "#ffff00")
    assert design.count(Command.COLOUR_CHANGE) == 2
    assert design.needle_points_mm[0].tolist() == [5.0, 4.0]
    assert design.steps[design.is_stitch].tolist() == [0] * 60 + [1] * 60 + [2] * 60


def test_how_far_a_file_says_where_thread_is_cut() -> None:
    told = {
        ending: design_of(written(three_blocks(), ending), file_name=f"a.{ending}").trims
        for ending in ("dst", "exp", "sew")
    }
    assert told == {"dst": Trims.INFERRED, "exp": Trims.RECORDED, "sew": Trims.NOT_RECORDED}


@pytest.mark.parametrize("ending", MARKED)
def test_what_breaks_off_is_refused(ending: str) -> None:
    content = written(pattern_of(FILL, FILL), ending)
    design_of(content, file_name=f"whole.{ending}")
    with pytest.raises(StitchFileError, match="cut"):
        design_of(content[: len(content) // 2], file_name=f"cut.{ending}")


@pytest.mark.parametrize("ending", ["exp", "csv"])
def test_where_a_cut_cannot_be_seen_a_note_says_so(ending: str) -> None:
    content = written(pattern_of(FILL), ending)
    end = content.rfind(b"\n", 0, len(content) // 2) + 1 or len(content) // 2 // 2 * 2
    assert reading.NO_MARK in design_of(content[:end], file_name=f"a.{ending}").notes


def test_a_command_that_is_none_is_damage() -> None:
    content = bytearray(written(pattern_of(FILL), "exp"))
    content[40:42] = b"\x80\x77"
    with pytest.raises(BrokenStitchFile, match="at byte 44"):
        design_of(bytes(content), file_name="a.exp")


def test_an_end_in_the_middle_is_damage_and_padding_is_not() -> None:
    content = written(pattern_of(FILL), "dst")
    whole = design_of(content, file_name="a.dst")
    padded = design_of(content + bytes(5000) + b"\x1a", file_name="a.dst")
    assert len(padded.commands) == len(whole.commands)
    with pytest.raises(BrokenStitchFile, match="damaged"):
        design_of(content + content, file_name="a.dst")


@pytest.mark.parametrize("ending", ["dst", "pes", "pec", "vp3", "phb", "iqp"])
def test_what_does_not_begin_as_its_kind_is_refused(ending: str) -> None:
    with pytest.raises(NotAStitchFile, match=f"do not begin|does not begin as .*{ending}"):
        design_of(b"\x10\x20\x30" * 400, file_name=f"a.{ending}")


def test_stitches_longer_than_any_are_no_stitches() -> None:
    with pytest.raises(NotAStitchFile, match="longer than any machine sews"):
        design_of(b"\x7f\x7f\x81\x81" * 50, file_name="a.exp")


@pytest.mark.parametrize(
    ("name", "says"),
    [("a.exp", "is empty"), ("a.xyz", "that end in .xyz"), ("a", "without an ending")],
)
def test_empty_and_unknown(name: str, says: str) -> None:
    with pytest.raises(NotAStitchFile, match=says) as refused:
        design_of(b"", file_name=name)
    assert refused.value.hint


@pytest.mark.parametrize("ending", ["col", "edr", "inf", "png", "svg"])
def test_lists_of_threads_and_pictures_are_no_designs(ending: str) -> None:
    with pytest.raises(NotAStitchFile, match=rf"\.{ending} hold no stitches"):
        design_of(b"1\n1,2,3,4\n", file_name=f"a.{ending}")


def test_a_run_sheet_is_no_design() -> None:
    with pytest.raises(NotAStitchFile, match="no stitch was found"):
        design_of(b"finished_at,puckering\n2026-01-02,1\n", file_name="week.csv")


def test_one_place_is_no_design() -> None:
    with pytest.raises(NotAStitchFile, match="3 stitches in one place"):
        design_of(written(pattern_of([(1, 1)] * 3), "exp"), file_name="a.exp")


@pytest.mark.parametrize("place", ["NaN", "Infinity", "1e400", '"x"', "null", "[1]"])
def test_places_that_are_no_numbers(place: str) -> None:
    told = json.loads(written(pattern_of(FILL), "json"))
    told["stitches"][3][0] = "HERE"
    content = json.dumps(told).replace('"HERE"', place).encode()
    with pytest.raises(NotAStitchFile):
        design_of(content, file_name="a.json")


def test_larger_than_any_field() -> None:
    with pytest.raises(NotAStitchFile, match="larger than any field"):
        design_of(written(pattern_of([(0, 0), (1600, 0)]), "csv"), file_name="a.csv")


def test_a_drawing_to_be_turned_is_no_design() -> None:
    pattern = pattern_of(FILL)
    pattern.add_command(pystitch.MATRIX_ROTATE, 90, 0)
    with pytest.raises(NotAStitchFile, match="moved or turned"):
        design_of(written(pattern, "csv"), file_name="a.csv")


def test_too_many_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.exp"
    path.write_bytes(written(pattern_of(FILL), "exp"))
    monkeypatch.setattr(reading, "MOST_BYTES", 100)
    with pytest.raises(StitchFileTooLarge, match=r"a\.exp is too large"):
        read_design(path)
    with pytest.raises(StitchFileTooLarge):
        design_of(path.read_bytes(), file_name="a.exp")


def test_too_many_stitches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(records, "MOST_RECORDS", 100)
    with pytest.raises(StitchFileTooLarge):
        design_of(written(pattern_of(FILL), "exp"), file_name="a.exp")


def test_a_small_file_that_unfolds_into_billions_is_refused() -> None:
    head = (0x00C8AF5B).to_bytes(4, "little") + (3_000_000_000).to_bytes(4, "little")
    with pytest.raises(StitchFileTooLarge, match="3,000,000,000 stitches"):
        design_of(head + bytes(200), file_name="a.hus")


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(StitchFileError, match="no such file"):
        read_design(tmp_path / "none.exp")
    with pytest.raises(StitchFileError, match="cannot be read"):
        read_design(tmp_path)
