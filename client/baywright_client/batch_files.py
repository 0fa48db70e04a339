"""A file that asks for a batch: quantities in the plan, in what varies, and in patches."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

from .files import Loaded
from .gather import SHARED, Descriptions
from .pointers import parts_of
from .prepare import Ready, converted, done, plan_values, schema_of, shared_schema
from .units import Conversion, Converted, holds_quantities

Schema = Mapping[str, Any]
Below = Sequence[tuple[str, bool]]


def batch_of(loaded: Loaded, descriptions: Descriptions) -> Ready:
    """The request of a batch. Raises BadFile."""
    if not holds_quantities(loaded.value):
        return Ready(loaded.value, loaded)
    return done(loaded, _Request(loaded.value, descriptions).converted())


class _Request:
    def __init__(self, body: Mapping[str, Any], descriptions: Descriptions) -> None:
        self.body, self.descriptions = body, descriptions
        self.whole = Converted(dict(body))
        name = body.get("calculator")
        self.schema = schema_of(descriptions, name) if isinstance(name, str) else None

    def converted(self) -> Converted:
        value = self.whole.value
        if isinstance(value.get("plan"), dict):
            value["plan"] = self._taken(plan_values(value["plan"], self.descriptions, "/plan"))
        if self.schema is not None and "inputs" in value:
            value["inputs"] = self._taken(converted(value["inputs"], self.schema, "/inputs"))
        for name, one in (("vary", self._vary), ("variants", self._variant)):
            if isinstance(value.get(name), list):
                value[name] = [one(each, f"/{name}/{k}") for k, each in enumerate(value[name])]
        return self.whole

    def _taken(self, part: Converted) -> Any:
        self.whole.conversions += part.conversions
        self.whole.faults += part.faults
        return part.value

    def _vary(self, entry: Any, at: str) -> Any:
        if not isinstance(entry, dict) or not isinstance(entry.get("values"), list):
            return entry
        pointer = entry.get("pointer")
        values = [
            self._placed(value, pointer, f"{at}/values/{k}")
            for k, value in enumerate(entry["values"])
        ]
        return {**entry, "values": values}

    def _variant(self, patch: Any, at: str) -> Any:
        if not isinstance(patch, dict):
            return patch
        if isinstance(patch.get("json_patch"), list):
            operations = [
                {**each, "value": self._placed(each["value"], each.get("path"), f"{place}/value")}
                if isinstance(each, dict) and "value" in each
                else each
                for each, place in _numbered(patch["json_patch"], f"{at}/json_patch")
            ]
            return {**patch, "json_patch": operations}
        if self.schema is not None:
            return self._taken(converted(patch, self.schema, at))
        if not holds_quantities(patch):
            return patch
        return self._taken(plan_values(patch, self.descriptions, at, self._plan))

    def _placed(self, value: Any, pointer: Any, at: str) -> Any:
        """A value that belongs at `pointer` of the plan or inputs, written at `at` of the file."""
        if not holds_quantities(value) or not isinstance(pointer, str):
            return value
        schema, way = self._schema_at(pointer)
        if not schema:
            return value
        nested, inner = _nested(value, way)
        part = converted(nested, schema, "")
        for step, in_list in way:
            part.value = part.value[0 if in_list else step]
        part.conversions = [
            Conversion(at + each.pointer[len(inner) :], each.text, each.number, each.unit)
            for each in part.conversions
        ]
        part.faults = [(at + place[len(inner) :], why) for place, why in part.faults]
        return self._taken(part)

    def _schema_at(self, pointer: str) -> tuple[Schema, Below]:
        """The schema that speaks of `pointer`, and the way from there, lists marked."""
        parts = parts_of(pointer)
        if self.schema is not None:
            return self.schema, _way(self.body.get("inputs"), parts)
        plan = self._plan
        steps = plan.get("steps")
        if parts[:1] == ["steps"] and parts[2:3] == ["inputs"] and isinstance(steps, list):
            step = _step(steps, parts[1])
            name = str(step.get("calculator", ""))
            return schema_of(self.descriptions, name), _way(step.get("inputs"), parts[3:])
        if parts and parts[0] in SHARED:
            schema = shared_schema(parts[0], steps, self.descriptions)
            return schema, _way(plan.get(parts[0]), parts[1:])
        return {}, ()

    @cached_property
    def _plan(self) -> Mapping[str, Any]:
        """The plan itself, asked for where the file names a stored one."""
        plan = self.body.get("plan")
        if not isinstance(plan, dict):
            return {}
        if "steps" not in plan and isinstance(plan.get("id"), str):
            found: Mapping[str, Any] = self.descriptions.api.document("plan", plan["id"]).json()
            return found
        return plan


def _numbered(entries: Sequence[Any], at: str) -> Iterator[tuple[Any, str]]:
    return ((entry, f"{at}/{k}") for k, entry in enumerate(entries))


def _step(steps: Sequence[Any], name: str) -> Mapping[str, Any]:
    """A step by its place or its id; {} where there is none."""
    known = [step if isinstance(step, dict) else {} for step in steps]
    if name.isdecimal() and int(name) < len(known):
        return known[int(name)]
    return next((step for step in known if step.get("id") == name), {})


def _way(value: Any, parts: Sequence[str]) -> Below:
    """Each part with whether it counts entries of a list, as far as `value` shows that."""
    way = []
    for part in parts:
        in_list = isinstance(value, list)
        way.append((part, in_list))
        if in_list:
            value = value[int(part)] if part.isdecimal() and int(part) < len(value) else None
        else:
            value = value.get(part) if isinstance(value, dict) else None
    return way


def _nested(value: Any, way: Below) -> tuple[Any, str]:
    """`value` inside objects and lists as `way` says, and the pointer to it there."""
    pointer = ""
    for part, in_list in reversed(way):
        value = [value] if in_list else {part: value}
    for part, in_list in way:
        pointer += "/0" if in_list else "/" + part.replace("~", "~0").replace("/", "~1")
    return value, pointer
