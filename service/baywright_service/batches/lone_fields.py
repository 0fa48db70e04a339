"""The one field that a value belongs to, found without the object around it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from marshmallow import Schema

from ..fields import Document, ListOf, Part, table_of

#: Validators of a whole schema that every schema has: the one that refuses unknown fields.
_EVERY_SCHEMA_HAS = 1


@dataclass(frozen=True)
class LoneField:
    """A field, how many parts of the pointer lead to it, and a schema of it alone as `value`.

    `tied` is true where a rule looks at the field together with others.
    """

    field: Any
    used: int
    schema: Schema
    tied: bool


def field_at(schema: Schema, parts: Sequence[str]) -> LoneField | None:
    """The deepest field on the way along `parts`; None where there is none, or where it may hold a
    stored document, which only the store can tell of."""
    way = list(_way(schema, parts))
    if not way or isinstance(way[-1][0], Document):
        return None
    field, used, tied = way[-1]
    return LoneField(field, used, table_of(value=field)(), tied)


def _way(schema: Schema, parts: Sequence[str]) -> Iterator[tuple[Any, int, bool]]:
    """Each field on the way along `parts`: (field, parts used, whether a rule ties it)."""
    used, tied = 0, False
    while used < len(parts) and parts[used] in schema.fields:
        tied = tied or _ties_fields(schema)
        field: Any = schema.fields[parts[used]]
        used += 1
        yield field, used, tied
        while isinstance(field, ListOf) and used < len(parts):
            own = parts[used + 1 : used + 2]
            tied = tied or bool(field.distinct) and list(own) in ([], [field.distinct])
            field = field.inner
            used += 1
            yield field, used, tied
        if not isinstance(field, Part):
            return
        schema = field.schema


def _ties_fields(schema: Schema) -> bool:
    """Whether a schema has rules of its own that look at several fields."""
    rules: Mapping[str, Sequence[Any]] = schema._hooks
    return len(rules.get("validates_schema", ())) > _EVERY_SCHEMA_HAS
