"""What a sheet leaves open, as questions in plain words, and what an answer changes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from logbook.errors import NotAnAnswer
from logbook.runs.columns import EXPOSURES
from logbook.runs.sheet_matching.assigning import with_meaning
from logbook.runs.sheet_matching.dates import Judged, Order, said, take_apart
from logbook.runs.sheet_matching.listed_values import USUAL_WORDS
from logbook.runs.sheet_matching.plain_words import plain
from logbook.runs.sheet_matching.reading import SheetReading

NOT_RECORDED = "not_recorded"
IGNORE = "ignore"
ASKED = frozenset(
    ("dates", "swapped_dates", "year", "fill_dates", "silence", "clean_runs", "needle_parts")
) | frozenset(("names", "stitches", "finished_at", "pieces_sewn"))
"""Every question that may be asked, but for those of a column's usual."""
SAID_AS: Mapping[str, str] = {
    "day_first": "Day first",
    "month_first": "Month first",
    "year_first": "Year first",
    "swapped": "Day and month are swapped",
    "as_stored": "As it stands",
    "yes": "Yes",
    "no": "No",
    "none": "Yes, none of it",
    "elsewhere": "Yes, elsewhere",
    "all_here": "No, every run is here",
    "found": "Yes, every part",
    "stitches_per_piece": "Of one piece",
    "stitches_sewn": "Of all pieces together",
    NOT_RECORDED: "Not recorded",
}
"""How people read the choices that are ours."""


@dataclass(frozen=True, slots=True)
class Question:
    """One thing that the sheet does not tell.

    ``best`` is the likelier answer, None where there is none; ``free`` says that other words than
    the choices are taken too; ``for_the_shop`` that nobody but the shop can answer it: it is never
    taken as read.
    """

    id: str
    asks: str
    choices: tuple[str, ...]
    best: str | None
    free: bool = False
    for_the_shop: bool = False
    alike: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    def said(self, choice: str) -> str:
        """A choice as people read it; the sheet's own words stay as they are."""
        own_words = self.free or self.id == "finished_at" or self.id in EXPOSURES
        return choice if own_words and choice != NOT_RECORDED else SAID_AS.get(choice, choice)

    def checked(self, answer: str) -> str:
        """An answer in the form of a choice.

        Raises
        ------
        NotAnAnswer
            It is none of the choices.
        """
        if self.free and answer.strip():
            return answer.strip()
        found = {choice.casefold(): choice for choice in self.choices}.get(
            answer.strip().casefold()
        )
        if found is None:
            raise NotAnAnswer(
                f"{answer!r} is no answer to {self.id}.", f"it can be: {', '.join(self.choices)}"
            )
        return found


def date_question(judged: Judged) -> Question | None:
    """Which number is the day; None where the column tells."""
    if judged.certain or not judged.written:
        return None
    form = take_apart(judged.example)
    orders = [order for order in ("day_first", "month_first", "year_first") if _fits(order, judged)]
    meant = form.under(judged.order, 2024) if form else None
    day = f"{meant.day} {meant:%B}" if meant else said(judged.order)
    return Question(
        "dates",
        f"Is {judged.example} the {day}? {judged.because[:1].upper()}{judged.because[1:]}.",
        tuple(orders) or ("day_first", "month_first"),
        judged.order,
        for_the_shop=True,
    )


def _fits(order: Order, judged: Judged) -> bool:
    form = take_apart(judged.example)
    return form is not None and form.under(order, 2024) is not None


def swapped_question(native: int, texts: int, example: str) -> Question:
    """Whether the spreadsheet took days for months."""
    return Question(
        "swapped_dates",
        f"{native:,} dates are kept as dates, all of days up to the 12th, and {texts:,} as text, "
        f"all of later days: the spreadsheet has probably taken days for months. Is {example} "
        "as it stands, or are day and month swapped?",
        ("swapped", "as_stored"),
        "swapped",
        for_the_shop=True,
    )


def year_question(rows: int, likely: Sequence[int]) -> Question:
    """The year of dates without one."""
    return Question(
        "year",
        f"{rows:,} dates have no year. Which year is it?",
        tuple(str(year) for year in likely),
        str(likely[0]) if likely else None,
        free=True,
        for_the_shop=True,
    )


def missing_question(what: str, means: str, headings: Sequence[str]) -> Question:
    """A column that no run can do without."""
    return Question(means, f"Which column has {what}?", tuple(headings), None, for_the_shop=True)


def stitches_question(heading: str, example: str, likely: str) -> Question:
    """Whether stitches are of one piece or of the whole run."""
    return Question(
        "stitches",
        f"Are the {heading} ({example}) those of one piece, or of all pieces of the run together?",
        ("stitches_per_piece", "stitches_sewn"),
        likely,
    )


def fill_question(empty: int, rows: int) -> Question:
    """Whether rows without a date belong to the day above."""
    return Question(
        "fill_dates",
        f"{empty:,} of {rows:,} rows have no date. Is it that of the row above?",
        ("yes", "no"),
        "yes",
    )


def silence_question(heading: str, silent: int, rows: int) -> Question:
    """What it means where the reasons say nothing of a kind."""
    return Question(
        "silence",
        f"Where {heading} does not name a defect, was there none of it? "
        f"({silent:,} of {rows:,} rows are empty.)",
        ("none", NOT_RECORDED),
        "none",
    )


def clean_runs_question(rows: int) -> Question:
    """Whether runs without a fault are in the sheet."""
    return Question(
        "clean_runs",
        f"Every one of the {rows:,} rows has rejects or a reason. Are runs without a fault written "
        "down somewhere else? (Then these runs stay out of every rate until you say how many good "
        "pieces there were.)",
        ("elsewhere", "all_here"),
        "elsewhere",
    )


def needle_question(rows: int) -> Question:
    """Whether the parts of broken needles were found."""
    return Question(
        "needle_parts",
        f"{rows:,} {'row tells' if rows == 1 else 'rows tell'} of broken needles and not whether "
        "every part was found. Was it?",
        ("found", NOT_RECORDED),
        NOT_RECORDED,
    )


def names_question(alike: Mapping[str, Mapping[str, str]], labels: Mapping[str, str]) -> Question:
    """Whether names mean the same."""
    parts = []
    for column, pairs in alike.items():
        together: dict[str, list[str]] = {}
        for words, name in pairs.items():
            together.setdefault(name, []).append(words)
        same = "; ".join(f"{', '.join(words)} = {name}" for name, words in together.items())
        parts.append(f"{labels[column]}: {same}")
    return Question(
        "names", f"Are these the same? {'. '.join(parts)}.", ("yes", "no"), "yes", alike=alike
    )


def usual_question(column: str, label: str, rows: int, top: Sequence[str]) -> Question:
    """What the shop's usual is."""
    return Question(
        f"usual.{column}",
        f"{label} is “usual” in {rows:,} {'row' if rows == 1 else 'rows'}. Which is your usual?",
        (NOT_RECORDED, *top),
        NOT_RECORDED,
        free=True,
    )


def answered(reading: SheetReading, question: str, answer: str) -> SheetReading:
    """The reading with one answer in it; see the questions of this module."""
    if question == "dates":
        return replace(reading, date_order=_order(answer))
    if question == "swapped_dates":
        return replace(reading, swapped=answer == "swapped")
    if question == "year":
        if not answer.isdecimal() or not 1990 <= int(answer) <= 2100:
            raise NotAnAnswer(f"{answer!r} is no year.", "answer with a year, such as 2025")
        return replace(reading, year=int(answer))
    if question == "fill_dates":
        return replace(reading, fill_dates=answer == "yes")
    if question == "silence":
        return replace(reading, silence="none" if answer == "none" else "not_recorded")
    if question == "clean_runs":
        return replace(reading, only_bad=answer == "elsewhere")
    if question == "needle_parts":
        return replace(reading, needle_parts_found=answer == "found")
    column, _, words = question.partition(".")
    if column == "usual":
        return _with_names(reading, words, dict.fromkeys(USUAL_WORDS, _value(answer)))
    if column == "reasons":
        return replace(reading, answers={**reading.answers, plain(words): _value(answer)})
    return _with_names(reading, column, {plain(words): _value(answer)})


def meaning_answered(reading: SheetReading, heading: str, answer: str) -> SheetReading:
    """The reading with another meaning of a column."""
    headings = [column.heading for column in reading.columns]
    if heading not in headings:
        raise NotAnAnswer(
            f"There is no column {heading!r}.", f"its columns are: {', '.join(headings)}"
        )
    means = None if answer == IGNORE else answer
    columns = with_meaning(reading.columns, headings.index(heading), means, "you said so")
    return replace(reading, columns=columns)


def with_names(reading: SheetReading, alike: Mapping[str, Mapping[str, str]]) -> SheetReading:
    """The reading with names that mean the same."""
    for column, names in alike.items():
        reading = _with_names(reading, column, names)
    return reading


def _with_names(reading: SheetReading, column: str, names: Mapping[str, str]) -> SheetReading:
    told = {**reading.names, column: {**reading.names.get(column, {}), **names}}
    return replace(reading, names=told)


def _value(answer: str) -> str:
    return "" if answer in (NOT_RECORDED, IGNORE) else answer


def _order(answer: str) -> Order:
    for order in ("day_first", "month_first", "year_first"):
        if order == answer:
            return order
    raise NotAnAnswer(f"{answer!r} is no order of a date.", "day_first or month_first")
