"""The API described: as OpenAPI for programs, and as a page for people."""

from __future__ import annotations

import json
import re
from typing import Any

from fastapi import APIRouter, FastAPI, Response
from fastapi.openapi.utils import get_openapi
from markupsafe import Markup, escape

from logbook.assets import FOLDER, page_template
from logbook.service.api.addresses import ROOT
from logbook.service.api.callers import MAY_READ
from logbook.service.api.problems import Problem, answer
from logbook.service.api.shapes import schemas
from logbook.service.state import the_book
from logbook.shop import Shop

POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"
METHODS: tuple[str, ...] = ("post", "get", "patch", "delete")
EXAMPLES: dict[str, dict[str, Any]] = json.loads(
    (FOLDER / "api_examples.json").read_text(encoding="utf-8")
)
"""``parameters`` by name, ``requests`` by the summary of their operation, ``answers`` by the name
of their schema: those of the sample logs, their lists cut short.
"""
EXAMPLES["answers"]["CorrectedRun"] = EXAMPLES["answers"]["RunWithHistory"] | {"remarks": []}


def about(app: FastAPI) -> APIRouter:
    """Build the routes that describe an application."""
    router = APIRouter(include_in_schema=False, dependencies=[MAY_READ])

    @router.get("/openapi.json")
    def openapi() -> Response:
        return answer(described(app, the_book().shop))

    @router.get("/docs")
    def page() -> Response:
        text = page_of(described(app, the_book().shop))
        headers = {"Content-Security-Policy": POLICY}
        return Response(text, media_type="text/html; charset=utf-8", headers=headers)

    return router


def described(app: FastAPI, shop: Shop) -> dict[str, Any]:
    """The description (OpenAPI 3.1) of the API over a shop's book."""
    made = get_openapi(
        title=f"{shop.name}: logbook",
        version=app.version,
        summary=app.summary,
        description=(
            "JSON in and out, with the run sheet's names. Rates are fractions, intervals "
            "`[lower, upper]` at 95 % unless `level` says otherwise, money is in the shop's "
            "currency, and null means that it cannot be said. Errors are problem details "
            "(RFC 9457)."
        ),
        routes=app.routes,
    )
    made["paths"] = {f"{ROOT}{path}": item for path, item in made["paths"].items()}
    made["components"] = {
        "schemas": schemas(shop.own),
        "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
    }
    # On the machine itself no token is needed until one is made.
    made["security"] = [{}, {"token": []}]
    made["servers"] = [{"url": "/"}]
    _show_examples(made["paths"])
    return made


def page_of(description: dict[str, Any]) -> str:
    """The description as one HTML page that fetches nothing."""
    operations = [
        {"method": method.upper(), "path": path, **item[method]}
        for path, item in description["paths"].items()
        for method in METHODS
        if method in item
    ]
    return page_template("api").render(
        about=description,
        operations=operations,
        run=description["components"]["schemas"]["RunToLog"]["properties"],
        problems=tuple(Problem),
        said=_said,
        shown=lambda content: json.dumps(content, indent=2, ensure_ascii=False),
    )


def _said(text: str) -> Markup:
    """A description in paragraphs, names in it as code."""
    paragraphs = [" ".join(part.split()) for part in str(escape(text)).split("\n\n")]
    marked = [
        re.sub(r"\*(.+?)\*", r"<em>\1</em>", re.sub(r"`(.+?)`", r"<code>\1</code>", part))
        for part in paragraphs
    ]
    return Markup("".join(f"<p>{part}</p>" for part in marked))


def _show_examples(paths: dict[str, Any]) -> None:
    for item in paths.values():
        for operation in item.values():
            for parameter in operation.get("parameters", ()):
                example = EXAMPLES["parameters"].get(parameter["name"])
                if example is not None:
                    parameter["example"] = example
            for content in operation.get("requestBody", {}).get("content", {}).values():
                content["examples"] = EXAMPLES["requests"][operation["summary"]]
            for response in operation["responses"].values():
                for content in response["content"].values():
                    name = content["schema"]["$ref"].rsplit("/", 1)[1]
                    if name in EXAMPLES["answers"]:
                        content["example"] = EXAMPLES["answers"][name]
