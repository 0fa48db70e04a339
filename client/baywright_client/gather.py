"""Everything about an answer that is asked for one by one: descriptions, drawings, tables."""

import csv
import io
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any
from urllib.parse import unquote

from .answers import Json, Machine, Picture, Sheet, StepAnswer
from .api import CSV, Api
from .errors import BadUsage, Refused
from .pointers import look_up

SHARED = ("kit", "stock")
#: How the service marks a drawing with nothing on it.
EMPTY = b'data-empty="true"'


class Descriptions:
    """What the service says of its calculators, each asked for once."""

    def __init__(self, api: Api) -> None:
        self.api = api
        self._known: dict[str, Json] = {}

    def of(self, name: str) -> Json:
        """The calculator called `name`; {} where there is none (the run will say so)."""
        if name not in self._known:
            try:
                self._known[name] = self.api.calculator(name).json()
            except BadUsage:  # no name at all
                self._known[name] = {}
            except Refused as refused:
                if refused.status != 404:
                    raise
                self._known[name] = {}
        return self._known[name]


def illustrated(
    machine: Machine, plan: Json, descriptions: Descriptions, say: Callable[[str], None]
) -> Machine:
    """`machine` with the drawings and the table of every step that was done.

    `say` hears of each step before it is asked for.
    """
    done = {step.id: step.envelope for step in machine.steps if step.status == "done"}
    asked = {str(step.get("id")): step for step in plan.get("steps", ())}
    steps = []
    for step in machine.steps:
        described = replace(step, description=descriptions.of(step.calculator))
        if step.status == "done":
            say(f"Drawing {step.id} …")
            inputs = _inputs(asked[step.id], plan, done, described.description)
            described = _with_pictures(described, inputs, descriptions.api)
        steps.append(described)
    return replace(machine, steps=steps)


def sheet_of(description: Json, inputs: Json, api: Api) -> Sheet | None:
    """The table of a run; None where the calculator makes none."""
    if not any(str(kind).startswith(CSV) for kind in description.get("media_types", ())):
        return None
    content = api.table(str(description["name"]), inputs).content
    rows = list(csv.reader(io.StringIO(content.decode("utf-8"), newline="")))
    header = rows[0] if rows else []
    return Sheet(header, [row for row in rows[1:] if len(row) == len(header)], content)


def _with_pictures(step: StepAnswer, inputs: Json, api: Api) -> StepAnswer:
    drawn = [
        Picture(str(view["name"]), api.drawing(step.calculator, inputs, str(view["name"])).content)
        for view in step.description.get("views") or ()
    ]
    pictures = [picture for picture in drawn if EMPTY not in picture.svg[:400]]
    return replace(step, pictures=pictures, sheet=sheet_of(step.description, inputs, api))


def _inputs(step: Json, plan: Json, done: Mapping[str, Json], description: Json) -> Json:
    """What the service gave the calculator: results in place of references, kit and stock."""
    inputs = dict(_resolved(step.get("inputs") or {}, done))
    known = description.get("input_schema", {}).get("properties", {})
    for kind in SHARED:
        if kind in known and kind in plan and kind not in inputs:
            inputs[kind] = plan[kind]
    return inputs


def _resolved(value: Any, done: Mapping[str, Json]) -> Any:
    if isinstance(value, dict):
        if "$ref" in value:
            _, _, id, rest = unquote(str(value["$ref"])[1:]).split("/", 3)
            return look_up(done[id], f"/{rest}")
        return {key: _resolved(inner, done) for key, inner in value.items()}
    if isinstance(value, list):
        return [_resolved(inner, done) for inner in value]
    return value
