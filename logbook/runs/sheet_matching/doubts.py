"""What a sheet leaves open: looked for by what its columns hold together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

import polars as pl

from logbook.runs.columns import EXPOSURES, columns_with
from logbook.runs.sheet_matching import asking
from logbook.runs.sheet_matching.amounts import read_number
from logbook.runs.sheet_matching.asking import Question
from logbook.runs.sheet_matching.assigning import with_meaning
from logbook.runs.sheet_matching.dates import Judged, judge, take_apart
from logbook.runs.sheet_matching.gathering import Gathered
from logbook.runs.sheet_matching.listed_values import is_usual
from logbook.runs.sheet_matching.names_alike import names_alike
from logbook.runs.sheet_matching.plain_words import is_said
from logbook.runs.sheet_matching.reading import MADE_COLUMNS, SheetReading
from logbook.runs.sheet_matching.reasons import ReasonWords
from logbook.vocabulary.defects import DEFECT_KINDS
from logbook.vocabulary.own_columns import Own, own_defect_kinds

FEWEST_BAD_RUNS = 12
"""So many runs without a single clean one are no chance."""
FEWEST_STITCHES, MOST_STITCHES = 300, 300_000
"""A design has hardly fewer stitches, or more."""
MOSTLY = 0.9
USUAL_SHOWN = 5
_SIZES_ADD_UP = "pieces_of_a_size"
_NAME_LISTS = ("machine", "operator", "backing_supplier", "customer", "site")


def doubts(
    gathered: Gathered,
    reading: SheetReading,
    *,
    now: datetime,
    known: Mapping[str, Sequence[str]],
    own: Sequence[Own] = (),
) -> tuple[SheetReading, Judged, tuple[Question, ...]]:
    """The reading with what the sheet tells, and questions of what it does not, gravest first."""
    reading, judged, questions = _dates(gathered, reading, now)
    questions += _missing(reading)
    reading, stitches = _stitches(gathered, reading)
    questions += stitches
    questions += _bad_runs(gathered, reading, own)
    questions += _needles(gathered, reading, own)
    labels = {column.name: column.label for column in columns_with(own)}
    alike = _alike(gathered, reading, known)
    if alike:
        questions.append(asking.names_question(alike, labels))
    questions += _usual(gathered, reading, labels)
    return reading, judged, tuple(questions)


def _texts(gathered: Gathered, place: int) -> pl.Series:
    return gathered.cells[str(place)]


def _dates(
    gathered: Gathered, reading: SheetReading, now: datetime
) -> tuple[SheetReading, Judged, list[Question]]:
    places = reading.places("finished_at")
    if not places:
        return reading, judge([], now=now), []
    texts = _texts(gathered, places[0])
    questions: list[Question] = []
    judged = judge(texts.to_list(), now=now)
    reading = replace(reading, date_order=judged.order)
    if question := asking.date_question(judged):
        questions.append(question)
    if judged.yearless:
        if len(gathered.years) == 1 and _one_year(texts):
            reading = replace(reading, year=gathered.years[0])
        else:
            likely = gathered.years or (now.year, now.year - 1)
            questions.append(asking.year_question(judged.yearless, likely))
    if gathered.table.grid.typed and (swapped := _swapped(texts)):
        questions.append(swapped)
    rest = gathered.cells.filter(texts == "")
    if rest.height and gathered.headings[places[0]] not in MADE_COLUMNS:
        questions.append(asking.fill_question(rest.height, gathered.cells.height))
    return reading, judged, questions


def _one_year(texts: pl.Series) -> bool:
    """Whether days without a year do not pass from December into January."""
    forms = [form for text in texts.unique() if (form := take_apart(text)) and form.yearless]
    months = {form.parts[0] for form in forms if form.fixed} or {
        part for form in forms for part in form.parts
    }
    return not {12, 1} <= months


def _swapped(texts: pl.Series) -> Question | None:
    """Dates of which the spreadsheet took those that it could with the month first."""
    forms = [(text, form) for text in texts if (form := take_apart(text)) is not None]
    native = [(text, form) for text, form in forms if form.fixed and form.digits[0] == 4]
    loose = [form for _, form in forms if not form.fixed and not form.yearless]
    late = all(max(form.parts[:2]) > 12 for form in loose)
    early = all(form.parts[2] <= 12 for _, form in native)
    if len(loose) < 3 or len(native) < 3 or not (late and early):
        return None
    return asking.swapped_question(len(native), len(loose), native[0][0])


def _missing(reading: SheetReading) -> list[Question]:
    free = [column.heading for column in reading.columns if column.means is None and column.heading]
    questions = []
    if not reading.places("finished_at"):
        questions.append(asking.missing_question("the date of a run", "finished_at", free))
    there = {column.means for column in reading.columns}
    if not there & {*EXPOSURES, _SIZES_ADD_UP}:
        questions.append(asking.missing_question("the number of pieces sewn", "pieces_sewn", free))
    return questions


def _numbers(gathered: Gathered, reading: SheetReading, means: str) -> pl.Series | None:
    places = reading.places(means)
    if not places:
        return None
    column = next(each for each in columns_with() if each.name == "pieces_sewn")
    texts = _texts(gathered, places[0])
    unique = texts.unique()
    values = {text: read_number(text, column) for text in unique if text}
    return texts.replace_strict(values, default=None, return_dtype=pl.Float64)


def _stitches(gathered: Gathered, reading: SheetReading) -> tuple[SheetReading, list[Question]]:
    """Stitches of one piece or of all, by what can be."""
    for means in ("stitches", "stitches_sewn"):
        values = _numbers(gathered, reading, means)
        if values is not None:
            break
    else:
        return reading, []
    [place] = reading.places(means)[:1]
    pieces = _numbers(gathered, reading, "pieces_sewn")
    each = _share(values)
    shared = _share(values / pieces) if pieces is not None else 0.0
    heading = reading.columns[place].heading
    if means == "stitches_sewn" and (shared >= 0.5 or pieces is None):
        return reading, []
    per_piece = each >= MOSTLY > 0.5 > shared
    together = shared >= MOSTLY > 0.5 > each
    if per_piece or together:
        answer = "stitches_per_piece" if per_piece else "stitches_sewn"
        why = (
            "divided by the pieces they would be too few for a design"
            if per_piece
            else "they are too many for one design"
        )
        columns = with_meaning(reading.columns, place, answer, why)
        return replace(reading, columns=columns), []
    columns = with_meaning(reading.columns, place, "stitches", "of one piece or of all")
    example = next((text for text in _texts(gathered, place) if text), "")
    same = _same_for_pieces(values, pieces)
    likely = "stitches_sewn" if same and shared >= each else "stitches_per_piece"
    question = asking.stitches_question(heading, example, likely)
    return replace(reading, columns=columns), [question]


def _share(values: pl.Series) -> float:
    told = values.drop_nulls()
    fits = int(told.is_between(FEWEST_STITCHES, MOST_STITCHES).sum())
    return fits / len(told) if len(told) else 0.0


def _same_for_pieces(values: pl.Series, pieces: pl.Series | None) -> bool:
    """Whether the stitches grow with the pieces, as they do where they are those of all."""
    if pieces is None:
        return False
    both = pl.DataFrame({"values": values, "pieces": pieces}).drop_nulls()
    if both.height < 5 or both["pieces"].n_unique() < 2:
        return False
    found = both.select(pl.corr("values", "pieces")).item()
    return isinstance(found, float) and found > 0.6


def _bad_runs(gathered: Gathered, reading: SheetReading, own: Sequence[Own]) -> list[Question]:
    places = reading.places("reasons")
    rejects = _numbers(gathered, reading, "pieces_defective")
    if rejects is None:
        rejects = _numbers(gathered, reading, "pieces_spoiled")
    words = ReasonWords(own, reading.answers)
    height = gathered.cells.height
    some = rejects > 0 if rejects is not None else pl.Series([False] * height, dtype=pl.Boolean)
    some = some.fill_null(value=False)
    blank = pl.Series([True] * height, dtype=pl.Boolean)
    for place in places:
        texts = _texts(gathered, place)
        quiet = {text: not is_said(text) or words.read(text).none for text in texts.unique()}
        silent = texts.replace_strict(quiet, return_dtype=pl.Boolean)
        blank = blank & silent
    some = some | ~blank
    direct = [k for k in _kinds(own) if reading.places(k)]
    if height >= FEWEST_BAD_RUNS and some.all() and (places or rejects is not None) and not direct:
        return [asking.clean_runs_question(height)]
    if not places or _blank_goes_with_none(blank, rejects):
        return []
    heading = reading.columns[places[0]].heading
    return [asking.silence_question(heading, int(blank.sum()), height)]


def _blank_goes_with_none(blank: pl.Series, rejects: pl.Series | None) -> bool:
    """Whether the rejects say of silent rows that nothing was found."""
    return False if rejects is None else bool((rejects.filter(blank) == 0).all() and blank.any())


def _kinds(own: Sequence[Own]) -> list[str]:
    return [kind.name for kind in (*DEFECT_KINDS, *own_defect_kinds(own))]


def kinds_named(gathered: Gathered, reading: SheetReading, own: Sequence[Own]) -> tuple[str, ...]:
    """The kinds that the reasons of the sheet name at least once."""
    words = ReasonWords(own, reading.answers)
    named: dict[str, None] = {}
    for place in reading.places("reasons"):
        for text in _texts(gathered, place).unique(maintain_order=True):
            found = words.read(text)
            named |= dict.fromkeys((*found.counts, *found.seen))
    return tuple(name for name in named if name)


def _needles(gathered: Gathered, reading: SheetReading, own: Sequence[Own]) -> list[Question]:
    if reading.places("needle_parts_found"):
        return []
    words = ReasonWords(own, reading.answers)
    rows = 0
    for place in reading.places("reasons"):
        texts = _texts(gathered, place)
        broken = [text for text in texts.unique() if words.read(text).counts.get("needle_breaks")]
        rows += int(texts.is_in(broken).sum())
    direct = _numbers(gathered, reading, "needle_breaks")
    rows += int((direct > 0).sum()) if direct is not None else 0
    return [asking.needle_question(rows)] if rows else []


def _alike(
    gathered: Gathered, reading: SheetReading, known: Mapping[str, Sequence[str]]
) -> dict[str, Mapping[str, str]]:
    found = {}
    for column in _NAME_LISTS:
        places = reading.places(column)
        if not places:
            continue
        texts = _texts(gathered, places[0])
        counts = dict(texts.filter(texts != "").value_counts(name="rows").iter_rows())
        alike = names_alike(column, counts, known.get(column, ()))
        if alike:
            found[column] = alike
    return found


def _usual(gathered: Gathered, reading: SheetReading, labels: Mapping[str, str]) -> list[Question]:
    questions = []
    for place, column in enumerate(reading.columns):
        if column.means is None or column.means in ("notes", "reasons"):
            continue
        texts = _texts(gathered, place)
        usual = [text for text in texts.unique() if is_usual(text)]
        rows = int(texts.is_in(usual).sum()) if usual else 0
        if not rows:
            continue
        others = texts.filter((texts != "") & ~texts.is_in(usual)).value_counts(sort=True)
        top = [text for text in others[others.columns[0]] if is_said(text)][:USUAL_SHOWN]
        questions.append(
            asking.usual_question(column.means, labels.get(column.means, column.heading), rows, top)
        )
    return questions
