"""/v1/problems: every error type, what it means and what to do."""

from html import escape

from flask import Blueprint, Response, request

from ..json_writer import json_bytes
from ..problems import NotFound, Problem, problem_types
from ..representations import HTML, JSON, choose, respond, respond_json
from .pages import page

routes = Blueprint("problems", __name__, url_prefix="/v1/problems")


@routes.get("")
def list_problems() -> Response:
    """Every type, by status."""
    return respond_json({"items": [_entry(kind) for kind in problem_types()]})


@routes.get("/<name>")
def show_problem(name: str) -> Response:
    """One type, as JSON or as a page."""
    kind = next((kind for kind in problem_types() if kind.type == name), None)
    if kind is None:
        raise NotFound(f"There is no problem type “{name[:64]}”. /v1/problems lists all.")
    form = choose(request.headers.get("Accept", ""), [JSON, HTML]) or JSON
    if form == JSON:
        return respond(json_bytes(_entry(kind)), JSON)
    body = f"<p>Status {kind.status}, type <code>{kind.type}</code>.</p><p>{escape(kind.meaning)}"
    return respond(page(kind.title, body + "</p>"), HTML)


def _entry(kind: type[Problem]) -> dict[str, object]:
    return {
        "type": f"/v1/problems/{kind.type}",
        "title": kind.title,
        "status": kind.status,
        "meaning": kind.meaning,
    }
