"""A schema of which most fields are known already: what does not change is not read again."""

from collections.abc import Collection, Mapping
from typing import Any

from marshmallow import Schema, fields


class _Known(fields.Field[Any]):
    """Gives its value whatever stands there, or nothing does."""

    def __init__(self, value: Any) -> None:
        super().__init__(load_default=value, allow_none=True)
        self._value = value

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        return self._value


def all_known_but(kind: type[Schema], loaded: Mapping[str, Any], names: Collection[str]) -> Schema:
    """A schema of `kind` that reads the fields `names` alone, and has the values `loaded` for all
    others; its rules look at all of them together."""
    schema = kind()
    for name in schema.load_fields.keys() & loaded.keys() - set(names):
        schema.load_fields[name] = _Known(loaded[name])
    return schema
