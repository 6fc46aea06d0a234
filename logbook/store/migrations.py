"""The tables of a book, as an ordered list of migrations.

Each migration runs in a transaction of its own and leaves a record of having run. Entries
are never changed once released: a new column is a new entry.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logbook.runs.columns import Column, columns_with
from logbook.vocabulary.own_columns import Own

SQL_TYPES = {
    "text": "VARCHAR",
    "choice": "VARCHAR",
    "integer": "BIGINT",
    "number": "DOUBLE PRECISION",
    "boolean": "BOOLEAN",
    "moment": "TIMESTAMP",
}


@dataclass(frozen=True, slots=True)
class Migration:
    """One step from a book of the version before."""

    number: int
    name: str
    statements: tuple[str, ...]


RUN_KEEPING = (
    "content_mark VARCHAR NOT NULL",
    "version INTEGER NOT NULL",
    "change_what VARCHAR NOT NULL",
    "change_why VARCHAR",
    "source VARCHAR NOT NULL",
    "recorded_at TIMESTAMP NOT NULL",
)

FIRST_COLUMNS = """
run_ref VARCHAR PRIMARY KEY, finished_at TIMESTAMP NOT NULL, site VARCHAR, machine VARCHAR,
operator VARCHAR, job VARCHAR, design VARCHAR, thread VARCHAR, head_count BIGINT, fabric VARCHAR,
fabric_shade VARCHAR, fabric_sheer BOOLEAN, backing VARCHAR, backing_gsm DOUBLE PRECISION,
backing_layers BIGINT, backing_shade VARCHAR, backing_supplier VARCHAR, backing_lot VARCHAR,
topping VARCHAR, hooping VARCHAR, needle_nm BIGINT, needle_point VARCHAR,
speed_spm DOUBLE PRECISION, density DOUBLE PRECISION, row_spacing_mm DOUBLE PRECISION,
stitches_per_piece BIGINT, stitches_sewn DOUBLE PRECISION, pieces_sewn BIGINT,
pieces_inspected BIGINT, pieces_spoiled BIGINT, pieces_reworked BIGINT, pieces_defective BIGINT,
rework_minutes DOUBLE PRECISION, run_minutes DOUBLE PRECISION, puckering BIGINT, gaps BIGINT,
shadowing BIGINT, sinking BIGINT, coverage BIGINT, looping BIGINT, bobbin_showing BIGINT,
skipped_stitches BIGINT, hoop_marks BIGINT, needle_cuts BIGINT, misplacement BIGINT,
trimming_damage BIGINT, soiling BIGINT, fabric_faults BIGINT, thread_breaks BIGINT,
needle_breaks BIGINT, bird_nests BIGINT, needle_parts_found BOOLEAN, seen_at VARCHAR,
pucker_grade DOUBLE PRECISION, notes VARCHAR
"""

MIGRATIONS: tuple[Migration, ...] = (
    Migration(
        1,
        "runs and their history",
        (
            f"CREATE TABLE runs ({FIRST_COLUMNS}, {', '.join(RUN_KEEPING)})",
            "CREATE TABLE run_history ("
            "run_ref VARCHAR NOT NULL, version INTEGER NOT NULL, content_mark VARCHAR NOT NULL, "
            "change_what VARCHAR NOT NULL, change_why VARCHAR, source VARCHAR NOT NULL, "
            "recorded_at TIMESTAMP NOT NULL, content VARCHAR NOT NULL, "
            "PRIMARY KEY (run_ref, version))",
        ),
    ),
    Migration(
        2,
        "answers to requests that may be repeated",
        (
            "CREATE TABLE request_answers ("
            "request_key VARCHAR NOT NULL, request_mark VARCHAR NOT NULL, "
            "status INTEGER NOT NULL, content VARCHAR NOT NULL, answered_at TIMESTAMP NOT NULL)",
        ),
    ),
    Migration(
        3,
        "cards: what a shop keeps beside its runs",
        (
            "CREATE TABLE cards ("
            "drawer VARCHAR NOT NULL, card_ref VARCHAR NOT NULL, version INTEGER NOT NULL, "
            "about VARCHAR, what VARCHAR NOT NULL, why VARCHAR, source VARCHAR NOT NULL, "
            "recorded_at TIMESTAMP NOT NULL, content VARCHAR NOT NULL, "
            "PRIMARY KEY (drawer, card_ref, version))",
        ),
    ),
    Migration(4, "the stitch file sewn", ("ALTER TABLE runs ADD COLUMN design_version VARCHAR",)),
    Migration(
        5,
        "customers, lots of cloth, needles changed, returns, shifts and trials",
        (
            "ALTER TABLE runs ADD COLUMN customer VARCHAR",
            "ALTER TABLE runs ADD COLUMN fabric_lot VARCHAR",
            "ALTER TABLE runs ADD COLUMN needle_changed BOOLEAN",
            "ALTER TABLE runs ADD COLUMN pieces_returned BIGINT",
            "ALTER TABLE runs ADD COLUMN shift VARCHAR",
            "ALTER TABLE runs ADD COLUMN trial VARCHAR",
            "ALTER TABLE runs ADD COLUMN trial_arm VARCHAR",
        ),
    ),
)

NEWEST = MIGRATIONS[-1].number

RECORD_OF_MIGRATIONS = (
    "CREATE TABLE IF NOT EXISTS migrations "
    "(number INTEGER PRIMARY KEY, name VARCHAR NOT NULL, happened_at TIMESTAMP NOT NULL)"
)


def column_definition(column: Column) -> str:
    """A column as SQL writes it, name quoted."""
    return f'"{column.name}" {SQL_TYPES[column.type]}'


def missing_columns(present: Sequence[str], own: Sequence[Own]) -> tuple[str, ...]:
    """Statements that add the columns which a shop's own kinds need and the table lacks."""
    return tuple(
        f"ALTER TABLE runs ADD COLUMN {column_definition(column)}"
        for column in columns_with(own)
        if column.name not in present
    )
