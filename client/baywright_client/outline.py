"""A JSON Schema as rows for people: field, type with unit and bounds, whether it must be given."""

from collections.abc import Iterator, Mapping
from typing import Any

from .labels import number_text, printed_unit
from .units import types_of

Json = Mapping[str, Any]


def outline(schema: Json, depth: int) -> list[tuple[str, str, str]]:
    """(field, what it takes, title) for each field, nested ones to `depth` levels.

    A field that must be given is marked with *.
    """
    return list(_Outline(schema, depth).rows(schema, "", 1))


class _Outline:
    def __init__(self, schema: Json, depth: int) -> None:
        self.schema, self.depth = schema, depth

    def opened(self, shape: Json) -> Json:
        """`shape` with its reference followed; of several choices the first."""
        for _ in range(40):
            if "$ref" in shape:
                name = str(shape["$ref"]).removeprefix("#/$defs/")
                inner = self.schema.get("$defs", {}).get(name, {})
                shape = {**inner, **{k: v for k, v in shape.items() if k != "$ref"}}
            elif shape.get("allOf"):
                rest = {k: v for k, v in shape.items() if k != "allOf"}
                shape = {**shape["allOf"][0], **rest}
            elif shape.get("anyOf"):
                rest = {k: v for k, v in shape.items() if k != "anyOf"}
                shape = {**shape["anyOf"][0], **rest}
            else:
                return shape
        return {}

    def rows(self, shape: Json, before: str, level: int) -> Iterator[tuple[str, str, str]]:
        required = set(shape.get("required", ()))
        for name, inner in shape.get("properties", {}).items():
            opened = self.opened(inner)
            path, item = f"{before}{name}", opened
            while _kind(item) == "array":
                path, item = f"{path}[]", self.opened(item.get("items", {}))
            title = str(inner.get("title") or opened.get("title") or "")
            deeper = level < self.depth
            takes = _takes(opened, item, shown_below=deeper and bool(item.get("properties")))
            if any("$ref" in c or "properties" in c for c in inner.get("anyOf", ())[1:]):
                takes += ", or {id: …}" if _by_id(inner) else ", or another form"
            yield path + ("*" if name in required else ""), takes, title
            if deeper:
                yield from self.rows(item, f"{path}.", level + 1)


def _kind(item: Json) -> str:
    return next(iter(types_of(item)), "") or "any"


def _by_id(inner: Json) -> bool:
    return any(set(choice.get("properties", ())) == {"id", "revision"} for choice in inner["anyOf"])


def _takes(shape: Json, item: Json, *, shown_below: bool) -> str:
    kind = _kind(item)
    if kind == "object":
        text = "object" if shown_below or not item.get("properties") else _members(item)
    elif "enum" in item:
        text = " | ".join(map(str, item["enum"]))
    elif kind in ("number", "integer"):
        unit = printed_unit(str(item.get("x-unit") or shape.get("x-unit") or ""))
        words = ["whole number" if kind == "integer" else "number", unit, _bounds(item)]
        text = " ".join(word for word in words if word)
    else:
        text = {"string": "text", "boolean": "true | false"}.get(kind, kind)
    default = shape.get("default", "")
    if isinstance(default, (int, float, str)) and default != "":
        said = number_text(default) if isinstance(default, (int, float)) else default
        text += f" (default {str(default).lower() if isinstance(default, bool) else said})"
    return text


def _members(item: Json) -> str:
    required = set(item.get("required", ()))
    names = [f"{name}*" if name in required else name for name in item["properties"]]
    return "{" + ", ".join(names) + "}"


def _bounds(item: Json) -> str:
    low, above, high = (
        number_text(item[key]) if key in item else ""
        for key in ("minimum", "exclusiveMinimum", "maximum")
    )
    if low and high:
        return f"{low} to {high}"
    if above and high:
        return f"above {above} to {high}"
    if low or above:
        return f"from {low}" if low else f"above {above}"
    return f"to {high}" if high else ""
