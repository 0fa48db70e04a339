"""The fields calculators describe their inputs and results with.

One declaration serves validation, JSON Schema and the API document: `describe` gives a field's
JSON Schema keywords. What marshmallow's own fields let through (text and booleans for numbers,
rounded integers) is refused here. Bulk numbers come as columns and leave as numpy arrays.
"""

import difflib
import math
import re
import sys
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, cast

import numpy as np
from marshmallow import EXCLUDE, Schema, ValidationError, fields, validates_schema

MOST_FAULTS = 20  # reported for one bulk field; the count of the rest is in the last one


class Fault(str):
    """What is wrong with one value: readable text, a stable `code`, and data such as bounds."""

    code: str
    extra: dict[str, Any]

    def __new__(cls, code: str, detail: str, **extra: Any) -> "Fault":
        fault = super().__new__(cls, detail)
        fault.code, fault.extra = code, extra
        return fault


def refuse(code: str, detail: str, **extra: Any) -> ValidationError:
    """The error a field raises for one value."""
    return ValidationError([Fault(code, detail, **extra)])


class _Base(fields.Field[Any]):
    """A marshmallow field with a title, a description, and faults that carry codes."""

    def __init__(
        self,
        *,
        title: str = "",
        about: str = "",
        unit: str = "",
        example: Any = None,
        **options: Any,
    ) -> None:
        metadata: dict[str, Any] = dict(options.pop("metadata", {}))
        if title:
            metadata["title"] = title
        if about:
            metadata["description"] = about
        if unit:
            metadata["x-unit"] = unit
        if example is not None:
            metadata["example"] = example
        self.unit = unit
        super().__init__(metadata=metadata, **options)

    def make_error(self, key: str, **kwargs: Any) -> ValidationError:
        return refuse("missing", "This field is required.")

    def describe(self) -> dict[str, Any]:
        """JSON Schema keywords, without title, unit and default."""
        raise NotImplementedError


class Num(_Base):
    """A finite number in `unit` (UCUM code), between `minimum` and `maximum`."""

    def __init__(
        self,
        unit: str,
        *,
        minimum: float | None = None,
        maximum: float | None = None,
        above: float | None = None,
        **options: Any,
    ) -> None:
        super().__init__(unit=unit, **options)
        self.minimum, self.maximum, self.above = minimum, maximum, above

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        return self.check(value)

    def check(self, value: Any) -> float:
        if type(value) not in (int, float):
            raise refuse("wrong-type", "Must be a number.")
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise refuse("out-of-range", "Must be a finite number.")
        fault = _range_fault(number, self.minimum, self.maximum, self.above)
        if fault:
            raise ValidationError([fault])
        return number

    def describe(self) -> dict[str, Any]:
        return {"type": "number", **_range(self.minimum, self.maximum, self.above)}


class Whole(Num):
    """A whole number; 211.0 is one, as JSON Schema says."""

    def __init__(self, unit: str = "1", **options: Any) -> None:
        super().__init__(unit, **options)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        number = self.check(value)
        if not number.is_integer():
            raise refuse("wrong-type", "Must be a whole number.")
        return int(number)

    def describe(self) -> dict[str, Any]:
        return {**super().describe(), "type": "integer"}


class Text(_Base):
    """Text of at most `longest` characters."""

    pattern: ClassVar[str] = ""

    def __init__(self, *, longest: int = 2000, shortest: int = 0, **options: Any) -> None:
        super().__init__(**options)
        self.longest, self.shortest = longest, shortest

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str):
            raise refuse("wrong-type", "Must be text.")
        if len(value) > self.longest:
            detail = f"Must be at most {self.longest} characters."
            raise refuse("too-long", detail, maximum=self.longest)
        if len(value) < self.shortest or "\x00" in value:
            raise refuse("wrong-format", f"Must be text of at least {self.shortest} characters.")
        if self.pattern and not re.fullmatch(self.pattern, value):
            raise refuse("wrong-format", f"Must match {self.pattern}", pattern=self.pattern)
        return value

    def describe(self) -> dict[str, Any]:
        shape: dict[str, Any] = {"type": "string", "maxLength": self.longest}
        if self.shortest:
            shape["minLength"] = self.shortest
        if self.pattern:
            shape["pattern"] = f"^(?:{self.pattern})$"
        return shape


class Key(Text):
    """The id of a part, section, step or document: a letter or digit, then also - _ and dot."""

    pattern = "[A-Za-z0-9][A-Za-z0-9_.-]*"

    def __init__(self, **options: Any) -> None:
        super().__init__(longest=64, **options)


class Choice(_Base):
    """One of a closed set of words."""

    def __init__(self, *words: str, **options: Any) -> None:
        super().__init__(**options)
        self.words = words

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str):
            raise refuse("wrong-type", "Must be text.")
        if value not in self.words:
            detail = f"Must be one of: {', '.join(self.words)}.{_nearest(value, self.words)}"
            raise refuse("out-of-range", detail, available=list(self.words))
        return value

    def describe(self) -> dict[str, Any]:
        return {"type": "string", "enum": list(self.words)}


class Flag(_Base):
    """true or false, and nothing else."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> bool:
        if not isinstance(value, bool):
            raise refuse("wrong-type", "Must be true or false.")
        return value

    def describe(self) -> dict[str, Any]:
        return {"type": "boolean"}


class Anything(_Base):
    """Any JSON value (steps' inputs, merge patches); objects only where `objects` is set."""

    def __init__(self, *, objects: bool = False, **options: Any) -> None:
        super().__init__(**options)
        self.objects = objects

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if self.objects and not isinstance(value, dict):
            raise refuse("wrong-type", "Must be an object.")
        return value

    def describe(self) -> dict[str, Any]:
        return {"type": "object", "additionalProperties": True} if self.objects else {}


class Column(_Base):
    """Many numbers at once: a list (`width` 1) or a list of rows of `width` numbers.

    Becomes a numpy array of shape (n,) or (n, width); whole numbers become int64.
    """

    def __init__(
        self,
        unit: str = "1",
        *,
        width: int = 1,
        whole: bool = False,
        minimum: float | None = None,
        maximum: float | None = None,
        fewest: int = 0,
        most: int = 200_000,
        **options: Any,
    ) -> None:
        super().__init__(unit=unit, **options)
        self.width, self.whole = width, whole
        self.minimum, self.maximum = minimum, maximum
        self._low = -sys.float_info.max if minimum is None else minimum
        self._high = sys.float_info.max if maximum is None else maximum
        self.fewest, self.most = fewest, most

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, list):
            raise refuse("wrong-type", "Must be a list.")
        _check_length(value, self.fewest, self.most)
        flat = self._flat(value)
        self._check_types(flat)
        try:
            array = np.array(flat, dtype=np.float64)
        except OverflowError:
            array = np.array([_float(x) for x in flat])
        self._check_values(array)
        if self.whole:
            array = array.astype(np.int64)
        return array.reshape(-1, self.width) if self.width > 1 else array

    def _flat(self, value: list[Any]) -> list[Any]:
        if self.width == 1:
            return value
        bad = [
            row
            for row, item in enumerate(value)
            if type(item) is not list or len(item) != self.width
        ]
        if bad:
            fault = Fault("wrong-type", f"Must be a list of {self.width} numbers.")
            raise ValidationError({row: [fault] for row in bad[:MOST_FAULTS]})
        return [x for item in value for x in item]

    def _check_types(self, flat: list[Any]) -> None:
        if not set(map(type, flat)) <= {int, float}:
            bad = [k for k, x in enumerate(flat) if type(x) not in (int, float)]
            raise self._at(bad, Fault("wrong-type", "Must be a number."))

    def _check_values(self, array: Any) -> None:
        if not array.size:
            return
        first, last = float(array.min()), float(array.max())
        within = self._low <= first and last <= self._high  # no NaN passes
        if not within or self.whole and (array != np.floor(array)).any():
            raise self._bad_values(array)

    def _bad_values(self, array: Any) -> ValidationError:
        finite = np.isfinite(array)
        if not finite.all():
            return self._at(np.flatnonzero(~finite), Fault("out-of-range", "Must be finite."))
        if self.whole and (array != np.floor(array)).any():
            bad = np.flatnonzero(array != np.floor(array))
            return self._at(bad, Fault("wrong-type", "Must be a whole number."))
        bad = np.flatnonzero((array < self._low) | (array > self._high))
        fault = _range_fault(float(array[bad[0]]), self.minimum, self.maximum, None)
        return self._at(bad, fault)

    def _at(self, bad: Any, fault: Any) -> ValidationError:
        where: dict[int, Any] = {}
        for k in list(bad)[:MOST_FAULTS]:
            row, column = divmod(int(k), self.width)
            if self.width == 1:
                where[row] = [fault]
            else:
                where.setdefault(row, {})[column] = [fault]
        return ValidationError(where)

    def describe(self) -> dict[str, Any]:
        number = {
            "type": "integer" if self.whole else "number",
            **_range(self.minimum, self.maximum, None),
        }
        items: dict[str, Any] = number
        if self.width > 1:
            items = {
                "type": "array",
                "items": number,
                "minItems": self.width,
                "maxItems": self.width,
            }
        return {"type": "array", "items": items, "minItems": self.fewest, "maxItems": self.most}


class Names(_Base):
    """Many short texts at once, as a tuple of str."""

    def __init__(self, *, fewest: int = 0, most: int = 200_000, **options: Any) -> None:
        super().__init__(**options)
        self.fewest, self.most = fewest, most

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> tuple[str, ...]:
        if not isinstance(value, list):
            raise refuse("wrong-type", "Must be a list.")
        _check_length(value, self.fewest, self.most)
        if not set(map(type, value)) <= {str}:
            bad = [k for k, x in enumerate(value) if type(x) is not str][:MOST_FAULTS]
            raise ValidationError({k: [Fault("wrong-type", "Must be text.")] for k in bad})
        long = [k for k, x in enumerate(value) if len(x) > 64]
        if long:
            fault = Fault("too-long", "Must be at most 64 characters.", maximum=64)
            raise ValidationError({k: [fault] for k in long[:MOST_FAULTS]})
        return tuple(value)

    def describe(self) -> dict[str, Any]:
        items = {"type": "string", "maxLength": 64}
        return {"type": "array", "items": items, "minItems": self.fewest, "maxItems": self.most}


class Part(fields.Nested):
    """One nested object of `schema`."""

    def __init__(
        self, schema: type["_Schema"], *, title: str = "", about: str = "", **options: Any
    ):
        super().__init__(schema, metadata=_words(title, about), **options)

    def make_error(self, key: str, **kwargs: Any) -> ValidationError:
        return refuse("missing", "This field is required.")

    def _deserialize(
        self, value: Any, attr: Any, data: Any, partial: Any = None, **kwargs: Any
    ) -> Any:
        if not isinstance(value, dict):
            raise refuse("wrong-type", "Must be an object.")
        return super()._deserialize(value, attr, data, partial, **kwargs)


class ListOf(fields.List[Any]):
    """A list of objects of a schema, or of values of a field; `distinct` names a key that
    no two items may share."""

    def __init__(
        self,
        inner: type["_Schema"] | fields.Field[Any],
        *,
        fewest: int = 0,
        most: int = 1000,
        distinct: str = "",
        title: str = "",
        about: str = "",
        **options: Any,
    ) -> None:
        item = inner if isinstance(inner, fields.Field) else Part(inner)
        super().__init__(item, metadata=_words(title, about), **options)
        self.fewest, self.most, self.distinct = fewest, most, distinct

    def make_error(self, key: str, **kwargs: Any) -> ValidationError:
        return refuse("missing", "This field is required.")

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, list):
            raise refuse("wrong-type", "Must be a list.")
        _check_length(value, self.fewest, self.most)
        loaded = super()._deserialize(value, attr, data, **kwargs)
        if self.distinct:
            self._check_distinct(loaded)
        return loaded

    def _check_distinct(self, items: Sequence[Any]) -> None:
        seen: set[Any] = set()
        twice: dict[int, Any] = {}
        for k, item in enumerate(items):
            key = item.get(self.distinct)
            if key in seen:
                detail = f"“{key}” stands twice; each {self.distinct} may stand once."
                twice[k] = {self.distinct: [Fault("not-unique", detail)]}
            seen.add(key)
        if twice:
            raise ValidationError(twice)

    def describe(self) -> dict[str, Any]:
        return {"minItems": self.fewest, "maxItems": self.most}


class ByKey(_Base):
    """An object whose keys are ids and whose values all follow one field."""

    def __init__(self, value: fields.Field[Any], *, most: int = 1000, **options: Any) -> None:
        super().__init__(**options)
        self.value, self.most = value, most

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            raise refuse("wrong-type", "Must be an object.")
        _check_length(value, 0, self.most)
        loaded: dict[str, Any] = {}
        faults: dict[str, Any] = {}
        for key, item in value.items():
            try:
                Key().deserialize(key)
                loaded[key] = self.value.deserialize(item)
            except ValidationError as error:
                faults[key] = error.messages
        if faults:
            raise ValidationError(faults)
        return loaded

    def describe(self) -> dict[str, Any]:
        return {"type": "object", "maxProperties": self.most}


class OneOfSchemas(_Base):
    """An object of one of several schemas, told apart by a key that only one of them has."""

    def __init__(self, choices: Mapping[str, type["_Schema"]], **options: Any) -> None:
        super().__init__(**options)
        self.choices = choices

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            raise refuse("wrong-type", "Must be an object.")
        given = [key for key in self.choices if key in value]
        if len(given) != 1:
            detail = f"Must hold exactly one of: {', '.join(self.choices)}."
            raise refuse("missing" if not given else "not-unique", detail)
        loaded, faults = _load(self.choices[given[0]](), value)
        if faults:
            raise ValidationError(faults)
        return loaded

    def describe(self) -> dict[str, Any]:
        return {}


class Document(Part):
    """A stored document of `kind`, inline or as {"id": "..."}; the host puts it in place."""

    def __init__(self, kind: str, schema: type["_Schema"], **options: Any) -> None:
        super().__init__(schema, **options)
        self.kind = kind


class _Schema(Schema):
    class Meta:
        unknown = EXCLUDE  # reported below, beside the faults of the known fields

    error_messages = {"type": Fault("wrong-type", "Must be an object.")}

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _no_strangers(self, data: Any, original_data: Any, **kwargs: Any) -> None:
        if not isinstance(original_data, Mapping):
            return
        strangers = [key for key in original_data if key not in self.fields]
        if strangers:
            raise ValidationError(
                {
                    key: [Fault("unknown-field", f"No such field.{hint}")]
                    for key, hint in zip(strangers, _hints(strangers, self.fields), strict=True)
                }
            )


class InputSchema(_Schema):
    """What a calculator takes."""


class ResultSchema(_Schema):
    """What a calculator gives; results may gain members in later minor versions."""


def table_of(**columns: fields.Field[Any]) -> type[_Schema]:
    """A schema made on the spot from its fields."""
    return cast(type[_Schema], _Schema.from_dict(dict(columns), name="Table"))


def flatten_faults(schema: Schema, body: Any) -> tuple[Any, list[tuple[str, Fault]]]:
    """Load `body`: the loaded value, and every fault as (JSON Pointer, Fault), sorted by place."""
    if not isinstance(body, Mapping):
        return None, [("", Fault("wrong-type", "Must be an object."))]
    loaded, messages = _load(schema, body)
    faults: list[tuple[str, Fault]] = []
    _collect(messages, "", faults)
    return loaded, sorted_faults(faults)


def sorted_faults(faults: Sequence[tuple[str, Fault]]) -> list[tuple[str, Fault]]:
    """Faults in the order of their places; entries of a list by number."""
    return sorted(faults, key=lambda fault: _place(fault[0]))


def _load(schema: Schema, body: Any) -> tuple[Any, Any]:
    try:
        return schema.load(body), {}
    except ValidationError as error:
        return error.valid_data, error.messages


def _collect(messages: Any, pointer: str, faults: list[tuple[str, Fault]]) -> None:
    if isinstance(messages, dict):
        for key, inner in messages.items():
            part = str(key).replace("~", "~0").replace("/", "~1")
            _collect(inner, pointer if key == "_schema" else f"{pointer}/{part}", faults)
    elif isinstance(messages, list):
        for inner in messages:
            _collect(inner, pointer, faults)
    else:
        fault = messages if isinstance(messages, Fault) else Fault("wrong-type", str(messages))
        faults.append((pointer, fault))


def _place(pointer: str) -> list[tuple[int, int, str]]:
    return [
        (0, int(part), "") if part.isdecimal() else (1, 0, part) for part in pointer.split("/")[1:]
    ]


def _words(title: str, about: str) -> dict[str, Any]:
    return {k: v for k, v in (("title", title), ("description", about)) if v}


def _float(value: Any) -> float:
    try:
        return float(value)
    except OverflowError:
        return math.inf


def _check_length(value: Any, fewest: int, most: int) -> None:
    if len(value) > most:
        raise refuse("too-many", f"Must hold at most {most} entries.", maximum=most)
    if len(value) < fewest:
        raise refuse("out-of-range", f"Must hold at least {fewest} entries.", minimum=fewest)


def _range(minimum: float | None, maximum: float | None, above: float | None) -> dict[str, float]:
    bounds = (("minimum", minimum), ("exclusiveMinimum", above), ("maximum", maximum))
    return {key: value for key, value in bounds if value is not None}


def _range_fault(
    number: float, minimum: float | None, maximum: float | None, above: float | None
) -> Fault | None:
    low = above is not None and number <= above or minimum is not None and number < minimum
    if not low and (maximum is None or number <= maximum):
        return None
    floor = f"above {above:g}" if above is not None else ""
    floor = f"at least {minimum:g}" if minimum is not None else floor
    ceiling = f"at most {maximum:g}" if maximum is not None else ""
    detail = f"Must be {' and '.join(part for part in (floor, ceiling) if part)}."
    return Fault("out-of-range", detail, **_range(minimum, maximum, above))


def _hints(strangers: Sequence[str], known: Any) -> list[str]:
    """A hint for each; only the first ones are looked for, since a search takes its time."""
    return [_nearest(word, known) if k < MOST_FAULTS else "" for k, word in enumerate(strangers)]


def _nearest(word: str, known: Any) -> str:
    if len(word) > 64:
        return ""
    close = difflib.get_close_matches(word, list(known), n=1, cutoff=0.5)
    return f" Did you mean {close[0]}?" if close else ""
