"""Bulk fields for forces and supports: many small objects checked as columns."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from marshmallow import ValidationError

from baywright_service.contract import Column, Fault

from .equilibrium import Bools, Floats, Ints

MOST_NODES = 200_000
MOST_FAULTS = 20
AXES = ("x", "y", "z")

_NODE = Column("1", whole=True, minimum=0, maximum=MOST_NODES - 1)
_FORCE = Column("N", width=3, minimum=-1e12, maximum=1e12)
_SPRING = Column("N/mm", width=3, minimum=0, maximum=1e12)


@dataclass(frozen=True)
class NodeForces:
    """node (k,), force_n (k, 3)."""

    node: Ints
    force_n: Floats


@dataclass(frozen=True)
class NodeSupports:
    """node (k,), fixed (k, 3), spring_n_per_mm (k, 3)."""

    node: Ints
    fixed: Bools
    spring_n_per_mm: Floats


class Forces(Column):
    """[{"node": 3, "n": [fx, fy, fz]}, ...] as `NodeForces`."""

    def __init__(self, **options: Any) -> None:
        super().__init__("", most=MOST_NODES, **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> NodeForces:
        _check_rows(value, {"node", "n"}, {"node", "n"}, self.fewest, self.most)
        faults: dict[int, Any] = {}
        node = _column(_NODE, [row["node"] for row in value], "node", faults)
        force = _column(_FORCE, [row["n"] for row in value], "n", faults)
        if faults:
            raise ValidationError(faults)
        return NodeForces(node, force)

    def describe(self) -> dict[str, Any]:
        return _describe(
            {"node": _node(), "n": {**_triple(_FORCE), "title": "Force along x, y, z"}},
            ["node", "n"],
            self,
        )


class Supports(Column):
    """[{"node": 0, "fixed": ["x"], "spring_n_per_mm": [0, 0, 50]}, ...] as `NodeSupports`."""

    def __init__(self, **options: Any) -> None:
        super().__init__("", most=MOST_NODES, **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> NodeSupports:
        _check_rows(value, {"node", "fixed", "spring_n_per_mm"}, {"node"}, self.fewest, self.most)
        faults: dict[int, Any] = {}
        node = _column(_NODE, [row["node"] for row in value], "node", faults)
        none = [0.0, 0.0, 0.0]
        springs = [row.get("spring_n_per_mm", none) for row in value]
        spring = _column(_SPRING, springs, "spring_n_per_mm", faults)
        fixed = np.zeros((len(value), 3), dtype=bool)
        for place, row in enumerate(value):
            names = row.get("fixed", ())
            if type(names) not in (list, tuple) or not set(map(str, names)) <= set(AXES):
                fault = Fault("out-of-range", "Must be a list of x, y, z.", available=list(AXES))
                faults.setdefault(place, {})["fixed"] = [fault]
                continue
            for name in names:
                fixed[place, AXES.index(name)] = True
        if faults:
            raise ValidationError(dict(list(faults.items())[:MOST_FAULTS]))
        return NodeSupports(node, fixed, spring)

    def describe(self) -> dict[str, Any]:
        names = {"type": "array", "items": {"type": "string", "enum": list(AXES)}, "maxItems": 3}
        spring = {**_triple(_SPRING), "title": "Springs to ground along x, y, z"}
        return _describe(
            {
                "node": _node(),
                "fixed": {**names, "title": "Directions that cannot move"},
                "spring_n_per_mm": spring,
            },
            ["node"],
            self,
        )


def _check_rows(value: Any, known: set[str], needed: set[str], fewest: int, most: int) -> None:
    if not isinstance(value, list):
        raise ValidationError([Fault("wrong-type", "Must be a list.")])
    if not fewest <= len(value) <= most:
        code = "too-many" if len(value) > most else "out-of-range"
        raise ValidationError([Fault(code, f"Must hold {fewest} to {most} entries.")])
    bad = [
        place
        for place, row in enumerate(value)
        if type(row) is not dict or not needed <= row.keys() or not row.keys() <= known
    ]
    if bad:
        raise ValidationError(
            {place: _row_fault(value[place], known, needed) for place in bad[:MOST_FAULTS]}
        )


def _row_fault(row: Any, known: set[str], needed: set[str]) -> Any:
    if type(row) is not dict:
        return [Fault("wrong-type", "Must be an object.")]
    missing = {key: [Fault("missing", "This field is required.")] for key in needed - row.keys()}
    hint = f"No such field. Known: {', '.join(sorted(known))}."
    return {**missing, **{key: [Fault("unknown-field", hint)] for key in row.keys() - known}}


def _column(field: Column, values: list[Any], name: str, faults: dict[int, Any]) -> Any:
    try:
        return field.deserialize(values)
    except ValidationError as error:
        messages: Any = error.messages
        for place, inner in messages.items():
            faults.setdefault(place, {})[name] = inner
        return None


def _node() -> dict[str, Any]:
    return {"type": "integer", "minimum": 0, "maximum": MOST_NODES - 1, "title": "Node"}


def _triple(field: Column) -> dict[str, Any]:
    row: Mapping[str, Any] = field.describe()["items"]
    return {**row, "items": {**row["items"], "x-unit": field.unit}}


def _describe(properties: dict[str, Any], required: list[str], field: Column) -> dict[str, Any]:
    items = {
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }
    return {"type": "array", "items": items, "minItems": field.fewest, "maxItems": field.most}
