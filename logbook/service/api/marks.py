"""Places of a run's defects and breaks: told by machines that count stitches, and read."""

from __future__ import annotations

from collections.abc import Callable, Mapping, MutableMapping, Sequence
from dataclasses import asdict
from threading import Lock
from typing import Annotated, Any, TypeVar
from urllib.parse import unquote

from fastapi import APIRouter, Response
from fastapi.routing import APIRoute
from starlette.routing import Match

from logbook.book.defect_locations import (
    KEYS_KEPT,
    add_locations,
    add_locations_once,
    locations_of_run,
)
from logbook.errors import RunNotFound
from logbook.runs.defect_locations import LARGEST, BreakLocation, DefectLocation, RunLocations
from logbook.service.api.addresses import MARKS, marks_at
from logbook.service.api.bodies import JsonBytes, read_json
from logbook.service.api.callers import MAY_LOG, MAY_READ, WhoLogs, source_of
from logbook.service.api.idempotency import key_header, read_key
from logbook.service.api.problems import OF_BODIES, Problem, Refusal, answer, reason
from logbook.service.api.query_parameters import only
from logbook.service.api.shapes import MARKING, answers
from logbook.service.state import the_book
from logbook.shop import Shop
from logbook.vocabulary import kind

Mark = TypeVar("Mark")
MarksKey = Annotated[
    str | None,
    key_header(
        "A request that is sent again under its key adds nothing and gets the run's marks as they "
        f"stand then; the last {KEYS_KEPT} keys of each run are remembered."
    ),
]
_ONE_BY_ONE = Lock()
BREAK_KINDS = ("thread_breaks", "needle_breaks")
NOT_DRAWN = (
    "the book holds no stitch file that this run was sewn from; places of defects are kept, and "
    "shown on no drawing"
)


class OfMarks(APIRoute):
    """A route whose last part is written plainly.

    In ``/api/runs/A%2Fmarks`` the reference of the run itself ends in that word.
    """

    def matches(self, scope: MutableMapping[str, Any]) -> tuple[Match, MutableMapping[str, Any]]:
        """Whether a request is for this route."""
        written = scope.get("raw_path")
        if written is not None and unquote(written.decode("latin-1").rpartition("/")[2]) != MARKS:
            return Match.NONE, {}
        return super().matches(scope)


reading = APIRouter(tags=["Runs"], dependencies=[MAY_READ], route_class=OfMarks)
marking = APIRouter(tags=["Runs"], dependencies=[MAY_LOG], route_class=OfMarks)


@reading.get(
    "/runs/{run_ref:path}/marks",
    summary="Where a run's defects and breaks were",
    responses=answers("Marks", Problem.NO_SUCH_RUN, Problem.NOT_UNDERSTOOD),
    dependencies=[only()],
)
def read_marks(run_ref: str) -> Response:
    """The places of a run as it stands; empty lists where nobody marked any.

    Where the run's design or its stitch file was corrected since, places on the other drawing are
    left out.
    """
    book = the_book()
    found = book.runs(refs=[run_ref])
    if found.is_empty():
        raise RunNotFound(
            f"There is no run {run_ref} in the book.", "look the reference up with GET /api/runs"
        )
    return answer(_as_json(locations_of_run(book, found.row(0, named=True))))


@marking.post(
    "/runs/{run_ref:path}/marks",
    summary="Mark where defects and breaks were",
    responses=answers(
        "Marks",
        *(*OF_BODIES, Problem.NO_SUCH_RUN, Problem.BAD_KEY, Problem.OTHER_BODY),
        adds=True,
    ),
    openapi_extra=MARKING,
    dependencies=[only()],
)
def mark_run(
    run_ref: str, caller: WhoLogs, body: JsonBytes, idempotency_key: MarksKey = None
) -> Response:
    """Add places to those of a run that is in the book; all of them, or none.

    `places` are of defects that pieces show, in the design's own millimetres. `breaks` are of
    `thread_breaks` and `needle_breaks`, with whatever is known of `head`, `needle`, `colour_step`
    (from 1 in the order of sewing) and `stitch` (the number that the machine shows). No more
    breaks of a kind can be placed than the run counted.

    Two breaks at one place are two: send an `Idempotency-Key`, so that a request that is sent
    again adds nothing. The answer is 201 with all places of the run, or 200 with them as they
    stand now where the request was taken before.
    """
    read = read_json(body)
    book = the_book()
    places, breaks = _parsed(read.content, book.shop)
    own_key = read_key(idempotency_key, caller.name)
    source, is_new = source_of(caller), True
    if own_key is None:
        marks = add_locations(book, run_ref, places=places, breaks=breaks, source=source)
    else:
        request = (own_key, read.digest)
        # Two that say the same at the same moment are one to the book, and both would be the first.
        with _ONE_BY_ONE:
            marks, is_new = add_locations_once(
                book, run_ref, places=places, breaks=breaks, source=source, request=request
            )
        _refuse_other_body(marks.requests, request)
    where = {"Location": marks_at(run_ref)}
    return answer(_as_json(marks), 201 if is_new else 200, headers=where if is_new else {})


def _refuse_other_body(requests: Mapping[str, str], request: tuple[str, str]) -> None:
    if requests[request[0]] != request[1]:
        raise Refusal(
            Problem.OTHER_BODY,
            "This Idempotency-Key was used before, for other places of this run.",
            "make a new key for each new request",
        )


def _as_json(marks: RunLocations) -> dict[str, Any]:
    lost = marks.places and marks.design_version is None
    return {
        "run_ref": marks.run_ref,
        "design": marks.design,
        "design_version": marks.design_version,
        "places": [asdict(each) for each in marks.places],
        "breaks": [asdict(each) for each in marks.breaks],
        "notes": [NOT_DRAWN] if lost else [],
    }


def _parsed(
    content: Any, shop: Shop
) -> tuple[tuple[DefectLocation, ...], tuple[BreakLocation, ...]]:
    fields = _object(content, "", ("places", "breaks"))
    places = _each(fields, "places", lambda each, at: _place(each, at, shop))
    breaks = _each(fields, "breaks", lambda each, at: _break(each, at, shop))
    if not places and not breaks:
        raise _wrong("", "neither places nor breaks are told")
    return places, breaks


def _each(
    fields: Mapping[str, Any], name: str, read: Callable[[Any, str], Mark]
) -> tuple[Mark, ...]:
    listed = fields.get(name)
    if listed is None:
        return ()
    if not isinstance(listed, list):
        raise _wrong(name, f"{name} is not a list")
    return tuple(read(each, f"{name}[{place}]") for place, each in enumerate(listed))


def _place(content: Any, at: str, shop: Shop) -> DefectLocation:
    fields = _object(content, at, ("kind", "x_mm", "y_mm"))
    name = _kind(fields, at, shop)
    measured = kind(name, shop.own_kinds)
    if measured.measure != "pieces" or name not in {each.name for each in shop.kinds}:
        raise _wrong(f"{at}.kind", f"{name} is no defect that a piece shows at a place")
    return DefectLocation(name, _mm(fields, at, "x_mm"), _mm(fields, at, "y_mm"))


def _break(content: Any, at: str, shop: Shop) -> BreakLocation:
    fields = _object(content, at, ("kind", *LARGEST))
    name = _kind(fields, at, shop)
    if name not in BREAK_KINDS:
        raise _wrong(f"{at}.kind", f"{name} is not one of {' and '.join(BREAK_KINDS)}")
    where = {part: _number(fields, at, part) for part in LARGEST}
    if not any(where.values()):
        raise _wrong(at, f"of {at} none of {', '.join(LARGEST)} is told")
    return BreakLocation(name, **where)


def _kind(fields: Mapping[str, Any], at: str, shop: Shop) -> str:
    name = fields.get("kind")
    if not isinstance(name, str):
        raise _wrong(f"{at}.kind", f"{at} does not say which kind it is of")
    return kind(name, shop.own_kinds).name


def _mm(fields: Mapping[str, Any], at: str, name: str) -> float:
    value = fields.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _wrong(f"{at}.{name}", f"{name} of {at} is not a number of millimetres")
    try:
        return float(value)
    except OverflowError as cause:
        raise _wrong(f"{at}.{name}", f"{name} of {at} is no place on a design") from cause


def _number(fields: Mapping[str, Any], at: str, name: str) -> int | None:
    value = fields.get(name)
    if value is None:
        return None
    whole = isinstance(value, int) or (isinstance(value, float) and value.is_integer())
    if isinstance(value, bool) or not whole or not 1 <= value <= LARGEST[name]:
        words = name.replace("_", " ")
        raise _wrong(
            f"{at}.{name}", f"{words} of {at} is not a whole number from 1 to {LARGEST[name]:,}"
        )
    return int(value)


def _object(content: Any, at: str, names: Sequence[str]) -> dict[str, Any]:
    if not isinstance(content, dict):
        raise _wrong(at, f"{at or 'the body'} is not an object of names and values")
    for name in content:
        if name not in names:
            raise _wrong(
                f"{at}.{name}" if at else name,
                f"there is no {name[:40]!r} in {at or 'the body'}: it has {', '.join(names)}",
            )
    return content


def _wrong(column: str, says: str) -> Refusal:
    return Refusal(
        Problem.NOT_UNDERSTOOD,
        f"No place was kept: {says}.",
        'send an object, such as {"breaks": [{"kind": "thread_breaks", "head": 3}]}',
        reasons=[reason(column, says)],
    )
