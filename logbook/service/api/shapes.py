"""What the description says of bodies, parameters and answers: schemas as literals."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from logbook.book.run_search import filters
from logbook.questions import QUESTIONS
from logbook.runs.columns import (
    COLUMNS,
    MADE_COLUMNS,
    WEIGHT_IN_OUNCES,
    Column,
    columns_with,
)
from logbook.runs.defect_locations import FARTHEST_MM, LARGEST
from logbook.runs.trials import SCOPE
from logbook.service.api.problems import PROBLEM_TYPE, Problem
from logbook.shop import Shop
from logbook.vocabulary.own_columns import Own

Schema = dict[str, Any]

JSON_TYPES = {
    "text": "string",
    "choice": "string",
    "integer": "integer",
    "number": "number",
    "boolean": "boolean",
    "moment": "string",
}
NUMBER: Schema = {"type": ["number", "null"]}
INTEGER: Schema = {"type": "integer"}
TEXT: Schema = {"type": "string"}
TEXT_OR_NONE: Schema = {"type": ["string", "null"]}
FLAG: Schema = {"type": "boolean"}
INTERVAL: Schema = {
    "description": "`[lower, upper]`; null where it cannot be said.",
    "type": ["array", "null"],
    "items": NUMBER,
    "minItems": 2,
    "maxItems": 2,
}
NOTES: Schema = {"type": "array", "items": TEXT, "description": "What to keep in mind."}


def listed(items: Schema) -> Schema:
    """A list of such."""
    return {"type": "array", "items": items}


def fields(**properties: Schema) -> Schema:
    """An object with at least these fields; more may come in later versions."""
    return {"type": "object", "properties": properties, "required": list(properties)}


def ref(name: str) -> Schema:
    """One of the named schemas."""
    return {"$ref": f"#/components/schemas/{name}"}


REASON = fields(column=TEXT, reason=TEXT)
PLACE: Schema = {**INTEGER, "description": "Place in the list, from 0."}
REJECTED = fields(index=PLACE, column=TEXT, reason=TEXT)

PROBLEM: Schema = {
    "description": "Problem details (RFC 9457).",
    **fields(
        type={**TEXT, "format": "uri-reference"},
        title=TEXT,
        status={**INTEGER, "minimum": 400, "maximum": 599},
        detail=TEXT,
        instance={**TEXT, "format": "uri-reference"},
        reasons=listed(REASON),
        hint=TEXT_OR_NONE,
    ),
}

LOGGED = fields(
    added=INTEGER,
    skipped={**INTEGER, "description": "In the book already, to the letter."},
    rejected=listed(REJECTED),
    run_refs=listed({**TEXT_OR_NONE, "description": "null where the run was not taken"}),
    held={**listed(TEXT), "description": "References of runs whose needle parts are missing."},
    notes=NOTES,
)
WITHDRAWN = fields(run_ref=TEXT, withdrawn=FLAG, notes=NOTES)
DEFECT_PLACE = fields(
    kind={**TEXT, "description": "A defect that pieces show."},
    x_mm={"type": "number", "minimum": -FARTHEST_MM, "maximum": FARTHEST_MM},
    y_mm={"type": "number", "minimum": -FARTHEST_MM, "maximum": FARTHEST_MM},
)
BREAK_PLACE = fields(
    kind={"enum": ["thread_breaks", "needle_breaks"]},
    **{
        name: {"type": ["integer", "null"], "minimum": 1, "maximum": most}
        for name, most in LARGEST.items()
    },
)
MARKS = fields(
    run_ref=TEXT,
    design=TEXT_OR_NONE,
    design_version={**TEXT_OR_NONE, "description": "The stitch file that the places are on."},
    places=listed(DEFECT_PLACE),
    breaks=listed(BREAK_PLACE),
    notes=NOTES,
)
MARKS_TO_ADD: Schema = {
    "type": "object",
    "description": "Places of defects, of breaks, or both.",
    "properties": {
        "places": listed({**DEFECT_PLACE, "additionalProperties": False}),
        "breaks": listed({**BREAK_PLACE, "required": ["kind"], "additionalProperties": False}),
    },
    "additionalProperties": False,
}
CHANGE = fields(
    version=INTEGER,
    happened_at={**TEXT, "format": "date-time"},
    what={"enum": ["logged", "amended", "withdrawn"]},
    why=TEXT_OR_NONE,
    source=TEXT,
    content={"type": "object", "description": "The run as it stood from then on."},
)


def schemas(own: Sequence[Own]) -> dict[str, Schema]:
    """Every named schema, those of runs with a shop's own defect kinds."""
    run = {column.name: kept(column) for column in (*columns_with(own), *MADE_COLUMNS)}
    told = {column.name: sent(column) for column in (*columns_with(own), WEIGHT_IN_OUNCES)}
    return {
        "RunToLog": {
            "type": "object",
            "description": "One run, with the run sheet's names; what is absent is not recorded.",
            "properties": told,
            "required": ["finished_at"],
            "additionalProperties": False,
        },
        "RunCorrection": {
            "type": "object",
            "description": "Values to change; null takes one back to not recorded.",
            "properties": {**told, "why": TEXT_OR_NONE},
            "additionalProperties": False,
        },
        "Reason": {
            "type": "object",
            "properties": {"why": TEXT},
            "additionalProperties": False,
        },
        "Run": fields(**run),
        "RunWithHistory": fields(**run, history=listed(CHANGE)),
        "CorrectedRun": fields(**run, history=listed(CHANGE), remarks=NOTES),
        "Runs": fields(runs=listed(ref("Run")), more=FLAG, notes=NOTES),
        "Logged": LOGGED,
        "Withdrawn": WITHDRAWN,
        "MarksToAdd": MARKS_TO_ADD,
        "Marks": MARKS,
        **_answers(),
        **_trials(),
        "Problem": PROBLEM,
    }


def _trials() -> dict[str, Schema]:
    """What is sent about trials, and what is answered; made of the types that are answered."""
    from pydantic import TypeAdapter  # late: only descriptions need it

    from logbook.questions.trials.plan_words import PlanJson
    from logbook.questions.trials.result import TrialJson

    named: dict[str, Schema] = {}
    for name, kind in (("TrialPlan", PlanJson), ("Trial", TrialJson)):
        made = TypeAdapter(kind).json_schema(ref_template=f"#/components/schemas/{name}.{{model}}")
        named |= {f"{name}.{part}": told for part, told in made.pop("$defs", {}).items()}
        named[name] = made
    told = dict.fromkeys((*SCOPE, "factor", "before", "after", "defect"), TEXT)
    told |= dict.fromkeys(("suggestion", "pieces_per_arm", "seed"), INTEGER)
    told |= {
        name: {"type": "number"} for name in ("smallest_difference", "worth", "power", "alpha")
    }
    named["TrialToPlan"] = {
        "type": "object",
        "properties": {**told, "keep": FLAG},
        "required": ["fabric"],
        "additionalProperties": False,
    }
    return named


def _answers() -> dict[str, Schema]:
    """The answers of all questions; what their parts share a name in is told apart by it."""
    named: dict[str, Schema] = {}
    for each in QUESTIONS.values():
        made = each.answer_schema()
        named |= made.pop("$defs", {})
        named[each.schema_name] = made
    return named


def kept(column: Column) -> Schema:
    """A value of a run as it is answered."""
    schema: Schema = {"type": [JSON_TYPES[column.type], "null"], "description": _words(column)}
    if column.name in ("run_ref", "finished_at"):
        schema["type"] = "string"
    return schema


def sent(column: Column) -> Schema:
    """A value of a run as it is sent: as typed, or as text that a run sheet could hold."""
    schema: Schema = {
        "type": sorted({JSON_TYPES[column.type], "string", "null"}),
        "description": _words(column),
    }
    if column.type in ("integer", "number"):
        limits = {"minimum": column.lowest, "exclusiveMinimum": column.above}
        limits["maximum"] = column.highest
        schema |= {name: limit for name, limit in limits.items() if limit is not None}
    if column.type == "text":
        schema["maxLength"] = column.longest
    if column.choices is not None:
        schema["examples"] = list(column.choices.values)
    return schema


def _words(column: Column) -> str:
    unit = f", in {column.unit}" if column.unit else ""
    choices = f": {', '.join(column.choices.values)}" if column.choices else ""
    return f"{column.label}{unit}{choices}."


def parameters_of(columns: Sequence[str]) -> list[Schema]:
    """Columns of the run sheet as parameters of a question: parts of the setup now."""
    return [
        {
            "name": column.name,
            "in": "query",
            "required": False,
            "description": f"{_words(column)[:-1]} of the setup now.",
            "schema": TEXT,
        }
        for column in COLUMNS
        if column.name in columns
    ]


FILTER_PARAMETERS: list[Schema] = [
    {
        "name": name,
        "in": "query",
        "required": False,
        "description": f"Only runs of one {factor.label.lower()}.",
        "schema": {"enum": [each.name for each in factor.bands]} if factor.bands else TEXT,
    }
    for name, factor in filters(Shop()).items()
    if name != "site"
]


def answers(name: str, *problems: Problem, adds: bool = False) -> dict[int | str, Schema]:
    """The answers of one route: the named one, and the problems that there can be."""
    content = {"application/json": {"schema": ref(name)}}
    found: dict[int | str, Schema] = {200: {"description": "As asked.", "content": content}}
    if adds:
        where = {"description": "Where the run is, for one run.", "schema": TEXT}
        found[200] = {"description": "Nothing was new.", "content": content}
        found[201] = {"description": "Added.", "content": content, "headers": {"Location": where}}
    titles = {401: ["No known token or session"], 403: ["This token or session may not"]}
    for each in sorted(
        (*problems, Problem.UNEXPECTED, Problem.BOOK_CLOSED), key=lambda each: each.status
    ):
        titles.setdefault(each.status, []).append(each.title)
    for status in sorted(titles):
        found[status] = {
            "description": "; or: ".join(titles[status]) + ".",
            "content": {PROBLEM_TYPE: {"schema": ref("Problem")}},
        }
    return found


def body(schema: Schema, *media_types: str, required: bool = True) -> Schema:
    """What a route takes."""
    content = {media_type: {"schema": schema} for media_type in media_types}
    return {"requestBody": {"required": required, "content": content}}


LOGGING = body(
    {"anyOf": [ref("RunToLog"), {**listed(ref("RunToLog")), "minItems": 1}]}, "application/json"
)
PLANNING = body(ref("TrialToPlan"), "application/json")
ENDING = body(ref("Reason"), "application/json", required=False)
AMENDING = body(ref("RunCorrection"), "application/json", "application/merge-patch+json")
MARKING = body(ref("MarksToAdd"), "application/json")
WITHDRAWING = body(ref("Reason"), "application/json", required=False)
