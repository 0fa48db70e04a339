"""/v1/calculators: what is offered, and a run of it."""

from typing import Any

from flask import Blueprint, Response

from .. import envelope
from ..batches.making import single
from ..contract import Calculator
from ..fields import flatten_faults
from ..host import host, limits
from ..problems import errors_from, invalid_input
from ..representations import (
    DXF,
    MEDIA_TYPES,
    PDF,
    chosen_form,
    chosen_page,
    chosen_view,
    forms_of,
    respond,
    respond_json,
)
from ..schemas import json_schema
from .batches import promised
from .preferring import prefers_async
from .reading import json_body, takes

routes = Blueprint("calculators", __name__, url_prefix="/v1/calculators")


@routes.get("")
def list_calculators() -> Response:
    """Every calculator offered, and every plug-in refused with the reason."""
    registry = host().registry
    return respond_json(
        {
            "items": [_entry(calculator) for calculator in registry.calculators.values()],
            "refused": [
                {"name": each.name, "distribution": each.distribution, "reason": each.reason}
                for each in registry.refused
            ],
        }
    )


@routes.get("/<name>")
def show_calculator(name: str) -> Response:
    """One calculator: schemas, examples, sources, cautions."""
    return respond_json(_description(host().registry.find(name)))


@routes.post("/<name>/run")
@takes("format", "view", "paper", "scale")
def run_calculator(name: str) -> Response:
    """Inputs in, envelope out; or the drawing, or the table, of the same run.

    `Prefer: respond-async` makes it a batch of one instead.
    """
    calculator = host().registry.find(name)
    form = chosen_form(forms_of(calculator))
    view, page = chosen_view(calculator, form), chosen_page()
    sent = json_body()
    body, used = host().fetched(calculator.inputs_schema(), sent)
    if prefers_async():
        faults = flatten_faults(calculator.inputs_schema(), body)[1]
        if faults:
            raise invalid_input(errors_from(faults))
        return promised(sent, lambda: single(sent, calculator))
    answer = host().calculate(calculator, body, used, form, view, page)
    response = respond(answer.content, form)
    if form in (PDF, DXF):
        response.headers["Content-Disposition"] = f'inline; filename="{name}-{view}.{form}"'
    response.headers["Server-Timing"] = ", ".join(
        f"{stage};dur={seconds * 1000:.3f}" for stage, seconds in answer.timing
    )
    return response


def _entry(calculator: Calculator) -> dict[str, Any]:
    place = f"/v1/calculators/{calculator.name}"
    return {
        "name": calculator.name,
        "version": calculator.version,
        "title": calculator.title,
        "summary": calculator.summary,
        "links": [{"rel": "self", "href": place}, {"rel": "run", "href": f"{place}/run"}],
    }


def _description(calculator: Calculator) -> dict[str, Any]:
    return {
        **_entry(calculator),
        "input_schema": json_schema(calculator.inputs_schema),
        "result_schema": json_schema(calculator.result_schema),
        "examples": [
            {"title": example.title, "inputs": example.inputs} for example in calculator.examples
        ],
        "views": [{"name": name, "title": title} for name, title in calculator.views.items()],
        "media_types": [MEDIA_TYPES[form] for form in forms_of(calculator)],
        "limits": limits(host().settings),
        "sources": [envelope.source_json(source) for source in calculator.sources],
        "cautions": list(calculator.cautions),
    }
