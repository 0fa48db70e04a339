"""JSON Schema (2020-12) from the schemas that validate: one source for both.

apispec does the walking; what it cannot know of the contract's fields is told to it here.
"""

from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from apispec.ext.marshmallow.common import resolve_schema_instance
from apispec.ext.marshmallow.openapi import OpenAPIConverter
from marshmallow import Schema

from .contract import ByKey, Column, Document, ListOf, OneOfSchemas, ResultSchema
from .fields import Key
from .json_writer import plain

DIALECT = "https://json-schema.org/draft/2020-12/schema"
COMPONENTS = "#/components/schemas/"


class _Converter(OpenAPIConverter):
    def schema2jsonschema(self, schema: Schema) -> dict[str, Any]:
        """Inputs are closed, and null in them is the same as absent; results may gain members."""
        shape: dict[str, Any] = super().schema2jsonschema(schema)  # type: ignore[no-untyped-call]
        shape.setdefault("type", "object")
        if not isinstance(schema, ResultSchema):
            shape["additionalProperties"] = False
            required = shape.get("required", ())
            for name, member in shape.get("properties", {}).items():
                if name not in required:
                    shape["properties"][name] = _or_null(member)
        return shape


def _or_null(shape: dict[str, Any]) -> dict[str, Any]:
    if "$ref" in shape:
        named = {key: value for key, value in shape.items() if key != "$ref"}
        return {**named, "anyOf": [{"$ref": shape["$ref"]}, {"type": "null"}]}
    if "anyOf" in shape:
        return {**shape, "anyOf": [*shape["anyOf"], {"type": "null"}]}
    if "enum" in shape:
        return {**shape, "type": [shape["type"], "null"], "enum": [*shape["enum"], None]}
    return {**shape, "type": [shape["type"], "null"]} if "type" in shape else shape


def types_of(shape: Mapping[str, Any]) -> set[str]:
    """The JSON types a shape names, null left out; none where it leaves the type open."""
    named = shape.get("type", [])
    return {named} - {"null"} if isinstance(named, str) else set(named) - {"null"}


class _Plugin(MarshmallowPlugin):
    Converter = _Converter


def component_name(schema: Any) -> str:
    """Folder and class ("grid_fit.Inputs"), so that classes of one name stay apart.

    A schema made on the spot has no name of its own and is written out where it stands.
    """
    kind = type(resolve_schema_instance(schema))
    if kind.__name__ in ("Table", "GeneratedSchema"):
        return ""
    folders = [part for part in kind.__module__.split(".") if not part.startswith("_")]
    package = folders[-2] if len(folders) > 1 and folders[-1] == "schemas" else folders[-1]
    return f"{package}.{kind.__name__.removesuffix('Schema') or kind.__name__}"


def new_spec(title: str, version: str, **options: Any) -> tuple[APISpec, Any]:
    """An empty OpenAPI 3.1 document, and the converter that fills its components."""
    plugin = _Plugin(schema_name_resolver=component_name)
    spec = APISpec(title, version, openapi_version="3.1.0", plugins=[plugin], **options)
    converter: Any = plugin.converter
    converter.add_attribute_function(_keywords)
    return spec, converter


@lru_cache(maxsize=256)
def json_schema(schema: type[Schema]) -> dict[str, Any]:
    """The JSON Schema of one class, whole in itself (`$defs`)."""
    spec, converter = new_spec("", "")
    top = converter.resolve_nested_schema(schema)
    shapes: Mapping[str, Any] = spec.components.schemas
    own = top["$ref"].removeprefix(COMPONENTS) if "$ref" in top else ""
    whole = {"$schema": DIALECT, **(shapes[own] if own else top)}
    others = {name: shape for name, shape in sorted(shapes.items()) if name != own}
    if others:
        whole["$defs"] = others
    written: dict[str, Any] = plain(_moved(whole))
    return written


def _moved(value: Any) -> Any:
    """`value` with every reference to a component made one to `$defs`."""
    if isinstance(value, Mapping):
        return {
            key: f"#/$defs/{inner.removeprefix(COMPONENTS)}" if key == "$ref" else _moved(inner)
            for key, inner in value.items()
        }
    return [_moved(inner) for inner in value] if isinstance(value, (list, tuple)) else value


def _keywords(converter: Any, field: Any, ret: dict[str, Any], **_: Any) -> dict[str, Any]:
    """What the contract's own fields say of themselves. May change `ret`, as apispec allows."""
    if isinstance(field, Document):
        inline = ret.pop("$ref", None)
        inner = {"$ref": inline} if inline else ret.pop("allOf", [{}])[0]
        return {"anyOf": [inner, reference_to(field.kind)]}
    if isinstance(field, ByKey):
        ids = {"pattern": f"^(?:{Key.pattern})$", "maxLength": 64}
        values = _or_null(converter.field2property(field.value))
        return {**field.describe(), "propertyNames": ids, "additionalProperties": values}
    if isinstance(field, OneOfSchemas):
        choices = field.choices.values()
        return {"anyOf": [converter.resolve_nested_schema(choice) for choice in choices]}
    if isinstance(field, Column):
        unit = {"x-unit": field.unit} if field.unit else {}
        return {**field.describe(), **unit}
    if isinstance(field, ListOf) or hasattr(field, "describe"):
        described: dict[str, Any] = field.describe() if hasattr(field, "describe") else {}
        return described
    return {}


def reference_to(kind: str) -> dict[str, Any]:
    """The JSON Schema of {"id": ...} in place of a document of `kind`."""
    return {
        "type": "object",
        "title": f"Stored {kind}",
        "required": ["id"],
        "properties": {
            "id": {"type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$", "maxLength": 64},
            "revision": {"type": "string", "pattern": "^sha256-[0-9a-f]{64}$"},
        },
        "additionalProperties": False,
    }


class Walk:
    """Steps through one whole JSON Schema along the parts of a pointer."""

    def __init__(self, schema: Mapping[str, Any]) -> None:
        self.schema = schema

    def alternatives(self, shape: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
        """`shape` with references followed and `anyOf`, `allOf` opened."""
        if "$ref" in shape:
            name = str(shape["$ref"]).removeprefix("#/$defs/")
            yield from self.alternatives(self.schema["$defs"][name])
        nested = [*shape.get("anyOf", ()), *shape.get("oneOf", ()), *shape.get("allOf", ())]
        for inner in nested:
            yield from self.alternatives(inner)
        if not nested and "$ref" not in shape and shape.get("type") != "null":
            yield shape

    def at(self, parts: list[str]) -> list[Mapping[str, Any]]:
        """Every shape that a value at `parts` may have; none where nothing can stand there."""
        shapes = list(self.alternatives(self.schema))
        for part in parts:
            shapes = [
                inner
                for shape in shapes
                for below in self._below(shape, part)
                for inner in self.alternatives(below)
            ]
        return shapes

    def _below(self, shape: Mapping[str, Any], part: str) -> Iterator[Mapping[str, Any]]:
        if not {"type", "properties", "items", "additionalProperties"} & set(shape):
            yield {}  # anything may stand here
        elif part in shape.get("properties", {}):
            yield shape["properties"][part]
        elif isinstance(shape.get("additionalProperties"), Mapping):
            yield shape["additionalProperties"]
        elif "object" in types_of(shape) and "properties" not in shape:
            if shape.get("additionalProperties", True):
                yield {}
        elif "array" in types_of(shape) and _is_index(part, shape.get("maxItems", 2**53)):
            yield shape.get("items", {})


def _is_index(part: str, most: int) -> bool:
    return part.isdecimal() and len(part) < 17 and int(part) < most
