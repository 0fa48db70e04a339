"""From what a file says to what is sent: quantities become numbers in each field's unit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from .errors import BadFile, Complaint, Place
from .files import Loaded
from .gather import SHARED, Descriptions
from .pointers import child, parts_of
from .units import Conversion, Converted, convert, holds_quantities


@dataclass(frozen=True)
class Ready:
    """A body to send, where each part of it stands, and what was converted in it."""

    body: dict[str, Any]
    loaded: Loaded
    conversions: Sequence[Conversion] = ()

    def exact_place(self, pointer: str) -> Place | None:
        """Where a pointer of a finding stands; None where the file does not say it."""
        shared = _shared(pointer)
        return self.loaded.places.get(pointer) or (
            self.loaded.places.get(shared) if shared else None
        )

    def place(self, pointer: str) -> Place | None:
        """Where a pointer of a fault stands, or the nearest thing around it."""
        exact = self.exact_place(pointer)
        if exact:
            return exact
        shared = _shared(pointer)
        nearest = self.loaded.place(pointer)
        if shared and self.loaded.place(shared) != self.loaded.place(""):
            parent = "/".join(pointer.split("/")[:5])
            return nearest if parent in self.loaded.places else self.loaded.place(shared)
        return nearest


def _shared(pointer: str) -> str:
    """A pointer into a step's kit or stock as one into the plan's; "" for every other."""
    parts = pointer.split("/")
    inside = len(parts) > 4 and parts[1] == "steps" and parts[3] == "inputs"
    return "/" + "/".join(parts[4:]) if inside and parts[4] in SHARED else ""


def inputs_of(name: str, loaded: Loaded, descriptions: Descriptions) -> Ready:
    """Inputs of one calculator. Raises BadFile."""
    return done(loaded, converted(loaded.value, schema_of(descriptions, name), ""))


def document_of(kind: str, loaded: Loaded, descriptions: Descriptions) -> Ready:
    """A stored document of `kind`. Raises BadFile."""
    if kind == "plan":
        return plan_of(loaded, descriptions)
    if not holds_quantities(loaded.value):
        return Ready(loaded.value, loaded)
    names = [str(entry["name"]) for entry in descriptions.api.calculators().json()["items"]]
    schema = next(filter(None, (_below(schema_of(descriptions, n), kind) for n in names)), {})
    return done(loaded, converted(loaded.value, schema, ""))


def plan_of(loaded: Loaded, descriptions: Descriptions) -> Ready:
    """A plan: each step's inputs by its calculator, kit and stock by the first that takes them.

    Raises BadFile.
    """
    if not holds_quantities(loaded.value):
        return Ready(loaded.value, loaded)
    return done(loaded, plan_values(loaded.value, descriptions))


def plan_values(
    plan: Mapping[str, Any], descriptions: Descriptions, at: str = "", of: Any = None
) -> Converted:
    """A plan that stands at the pointer `at` of a file, or a merge patch on the plan `of`."""
    whole = Converted(dict(plan))
    steps = whole.value.get("steps")
    for kind in SHARED:
        if kind in whole.value:
            schema = shared_schema(kind, steps or (of or {}).get("steps"), descriptions)
            _put(whole, kind, converted(whole.value[kind], schema, child(at, kind)))
    if isinstance(steps, list):
        whole.value["steps"] = [
            _step(step, f"{at}/steps/{k}", descriptions, whole) for k, step in enumerate(steps)
        ]
    return whole


def shared_schema(kind: str, steps: Any, descriptions: Descriptions) -> Mapping[str, Any]:
    """The schema of a plan's kit or stock: that of the first step which takes one."""
    found = [step for step in steps if isinstance(step, dict)] if isinstance(steps, list) else []
    schemas = (schema_of(descriptions, str(step.get("calculator", ""))) for step in found)
    return next(filter(None, (_below(schema, kind) for schema in schemas)), {})


def _step(step: Any, at: str, descriptions: Descriptions, whole: Converted) -> Any:
    if not isinstance(step, dict) or "inputs" not in step:
        return step
    schema = schema_of(descriptions, str(step.get("calculator", "")))
    inputs = converted(step["inputs"], schema, f"{at}/inputs")
    whole.conversions += inputs.conversions
    whole.faults += inputs.faults
    return {**step, "inputs": inputs.value}


def _put(whole: Converted, name: str, part: Converted) -> None:
    whole.value[name] = part.value
    whole.conversions += part.conversions
    whole.faults += part.faults


def schema_of(descriptions: Descriptions, name: str) -> Mapping[str, Any]:
    """The schema of a calculator's inputs; {} where there is none."""
    schema = descriptions.of(name).get("input_schema") if name else {}
    return schema if isinstance(schema, dict) else {}


def _below(schema: Mapping[str, Any], kind: str) -> Mapping[str, Any]:
    """The schema of one property, whole in itself; {} where there is none."""
    inner = schema.get("properties", {}).get(kind)
    return {**inner, "$defs": schema.get("$defs", {})} if inner else {}


def converted(value: Any, schema: Mapping[str, Any], pointer: str) -> Converted:
    """`value`, which stands at `pointer`, with its quantities as numbers."""
    if not schema or not holds_quantities(value):
        return Converted(value)
    return convert(value, schema, pointer)


def done(loaded: Loaded, whole: Converted) -> Ready:
    """A file with everything in it converted. Raises BadFile where something cannot be."""
    if whole.faults:
        complaints = [
            Complaint(f"{_field(pointer)}: {why}", loaded.place(pointer))
            for pointer, why in whole.faults
        ]
        raise BadFile(complaints)
    return Ready(whole.value, loaded, whole.conversions)


def _field(pointer: str) -> str:
    """The name of the field a pointer ends at, with its place in a list."""
    parts = parts_of(pointer)
    tail = [parts[-1]] if parts else []
    while tail[0].isdecimal() and len(tail) < len(parts):
        tail.insert(0, parts[-len(tail) - 1])
    return "/".join(tail)
