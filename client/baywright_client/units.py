"""`32 in`, `5 ft 2 in`, `1/32 in`, `100 lbf` in a field that takes a number in one unit.

The service's JSON Schemas say each field's unit as a UCUM code (`x-unit`). Arithmetic is with
fractions, so that 32 in is 812.8 mm and not the float next to it. Pint is imported only when a
text with a unit is found.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from typing import Any

from .pointers import child

LONGEST = 80

_NUMBER = r"\d+(?:\.\d*)?(?:[eE][-+]?\d{1,3})?|\.\d+(?:[eE][-+]?\d{1,3})?"
_TERM = re.compile(
    rf"""\s*(?:(?P<whole>\d+)[ ]+(?P<over>\d+)/(?P<under>\d+)   # 2 1/2
         |(?P<top>\d+)/(?P<bottom>\d+)                           # 1/32
         |(?P<number>{_NUMBER}))\s*
         (?P<unit>(?:1?/|per\s+)?\s*[^\W\d_]{{1,20}}[^\s\d'",;]*(?:[2-4](?![\d.]))?
            (?:(?:\s*[*/·.]\s*|\s+per\s+)[^\W\d_][^\s\d'",;]*(?:[2-4](?![\d.]))?)*
         |[%°'"′″])?\s*""",
    re.VERBOSE,
)
_QUANTITY = re.compile(r"^\s*[-+]?\s*[.\d]")

_MARKS = {"'": "foot", "′": "foot", '"': "inch", "″": "inch", "°": "degree", "%": "percent"}
#: What builders write, where pint would read something else or nothing.
_WRITTEN = {
    "mil": "thou",
    "rpm": "1/minute",
    "lbs": "pound",
    "IN": "inch",
    "FT": "foot",
    "deg": "degree",
    "min": "minute",
    "h": "hour",
    "hr": "hour",
    "hrs": "hour",
    "sec": "second",
    "Kg": "kilogram",
    "KG": "kilogram",
    "MM": "millimeter",
}
_ANGLES = ("degree", "radian", "turn", "revolution", "grade", "arcminute", "arcsecond")
_KINDS = {
    "[length]": "a length",
    "[mass]": "a mass",
    "[time]": "a time",
    "[length]**2": "an area",
    "1/[time]": "a rate",
    "[length]/[time]": "a speed",
    "[length]/[time]**2": "an acceleration",
    "[length]*[mass]/[time]**2": "a force",
    "[length]**2*[mass]/[time]**2": "an energy or torque",
    "[length]**2*[mass]/[time]**3": "a power",
    "[mass]/[length]/[time]**2": "a pressure",
    "[mass]/[time]**2": "a stiffness",
    "[mass]/[length]**3": "a density",
}


class NotAQuantity(ValueError):
    """The text is no quantity that fits the field: why, and what to write."""


@dataclass(frozen=True)
class Conversion:
    """What was written, and the number that is sent for it."""

    pointer: str
    text: str
    number: int | float
    unit: str


@dataclass
class Converted:
    """A value ready to send, with what was converted and what could not be: (pointer, why)."""

    value: Any
    conversions: list[Conversion] = field(default_factory=list)
    faults: list[tuple[str, str]] = field(default_factory=list)


def holds_quantities(value: Any) -> bool:
    """Whether any text in `value` may be a quantity: if not, no schema is needed."""
    if isinstance(value, str):
        return _QUANTITY.match(value) is not None
    if isinstance(value, dict):
        return any(holds_quantities(inner) for inner in value.values())
    return isinstance(value, list) and any(holds_quantities(inner) for inner in value)


def convert(value: Any, schema: Mapping[str, Any], pointer: str = "") -> Converted:
    """`value` with every quantity that `schema` wants as a number made one.

    `schema` is one whole JSON Schema (references into its own `$defs`).
    """
    walk = _Walk(schema)
    done = Converted(None)
    done.value = walk.converted(value, list(walk.shapes(schema)), pointer, "", done)
    return done


def types_of(shape: Mapping[str, Any]) -> list[str]:
    """The JSON types a shape takes; null means the same as absent and is left out."""
    kind = shape.get("type", "")
    return [each for each in (kind if isinstance(kind, list) else [kind]) if each != "null"]


class _Walk:
    def __init__(self, schema: Mapping[str, Any]) -> None:
        self.schema = schema

    def shapes(self, shape: Mapping[str, Any], depth: int = 0) -> Iterator[Mapping[str, Any]]:
        """`shape` with references followed and choices opened."""
        if depth > 40:
            return
        if "$ref" in shape:
            name = str(shape["$ref"]).removeprefix("#/$defs/")
            inner = self.schema.get("$defs", {}).get(name)
            if inner is not None:
                yield from self.shapes(inner, depth + 1)
        choices = [*shape.get("anyOf", ()), *shape.get("oneOf", ()), *shape.get("allOf", ())]
        for choice in choices:
            yield from self.shapes(choice, depth + 1)
        if "$ref" not in shape and not choices:
            yield shape

    def converted(
        self, value: Any, shapes: list[Mapping[str, Any]], pointer: str, unit: str, done: Converted
    ) -> Any:
        """`value` at `pointer`; `unit` is that of the list around it, where that says it."""
        if isinstance(value, str):
            return self._text(value, shapes, pointer, unit, done)
        if isinstance(value, dict):
            return {
                key: self.converted(
                    inner, self._members(shapes, key), child(pointer, key), "", done
                )
                for key, inner in value.items()
            }
        if isinstance(value, list):
            below = [inner for shape in shapes for inner in self.shapes(shape.get("items", {}))]
            own = next((str(shape["x-unit"]) for shape in shapes if "x-unit" in shape), unit)
            return [
                self.converted(inner, below, f"{pointer}/{k}", own, done)
                for k, inner in enumerate(value)
            ]
        return value

    def _members(self, shapes: list[Mapping[str, Any]], key: str) -> list[Mapping[str, Any]]:
        found: list[Mapping[str, Any]] = []
        for shape in shapes:
            if key in shape.get("properties", {}):
                found += self.shapes(shape["properties"][key])
            elif isinstance(shape.get("additionalProperties"), Mapping):
                found += self.shapes(shape["additionalProperties"])
        return found

    def _text(
        self, text: str, shapes: list[Mapping[str, Any]], pointer: str, unit: str, done: Converted
    ) -> Any:
        types = {kind for shape in shapes for kind in types_of(shape)}
        if not types or not types <= {"number", "integer"}:
            return text
        unit = next((str(shape["x-unit"]) for shape in shapes if "x-unit" in shape), unit)
        if not unit:
            return text
        try:
            number = in_unit(text, unit)
        except NotAQuantity as error:
            done.faults.append((pointer, str(error)))
            return text
        done.conversions.append(Conversion(pointer, text, number, unit))
        return number


def in_unit(text: str, unit: str) -> int | float:
    """The number that `text` is in `unit` (UCUM code), the nearest one there is.

    Raises NotAQuantity.

    >>> in_unit("32 in", "mm"), in_unit("5 ft 2 in", "mm"), in_unit("1/32 in", "mm")
    (812.8, 1574.8, 0.79375)
    """
    exact = exact_in_unit(text, unit)
    if exact.denominator == 1 and abs(exact) < 2**53:
        return exact.numerator
    try:
        return float(exact)
    except OverflowError:
        raise NotAQuantity(f"“{text}” is beyond every number that can be sent.") from None


def exact_in_unit(text: str, unit: str) -> Fraction:
    """As `in_unit`, without rounding."""
    sign, terms = _terms(text, unit)
    total = Fraction(0)
    for number, written in terms:
        total += number * _factor(written, unit, text)
    return sign * total


def _terms(text: str, unit: str) -> tuple[int, list[tuple[Fraction, str]]]:
    """The sign, and each number with the unit it carries ("" where it carries none)."""
    body = text.strip()
    if len(body) > LONGEST or not _QUANTITY.match(body):
        raise NotAQuantity(f"“{text[:LONGEST]}” is not a number with a unit; {_say(unit)}.")
    sign = -1 if body[0] in "-−" else 1
    body = body.lstrip("+-− ")
    terms: list[tuple[Fraction, str]] = []
    place = 0
    while place < len(body):
        match = _TERM.match(body, place)
        if not match or match.end() == place:
            raise NotAQuantity(f"“{text}” is not a number with a unit; {_say(unit)}.")
        terms.append((_number(match, text), (match["unit"] or "").strip()))
        place = match.end()
    if any(not written for _, written in terms) and (unit != "1" or len(terms) > 1):
        raise NotAQuantity(f"“{text}” has no unit; {_say(unit)}.")
    return sign, terms


def _number(match: re.Match[str], text: str) -> Fraction:
    try:
        if match["whole"]:
            return int(match["whole"]) + Fraction(int(match["over"]), int(match["under"]))
        if match["top"]:
            return Fraction(int(match["top"]), int(match["bottom"]))
    except ZeroDivisionError:
        raise NotAQuantity(f"“{text}” divides by zero.") from None
    return Fraction(match["number"])


def _say(unit: str) -> str:
    """What to write instead, for a field in `unit`."""
    examples = {
        "mm": "write 812.8, or a length such as 32 in",
        "N": "write 445, or a force such as 100 lbf",
        "kg": "write 12, or a mass such as 26 lb",
        "g": "write 11, or a mass such as 0.4 oz",
        "deg": "write 30, or an angle such as 30 deg",
        "min": "write 90, or a time such as 1.5 h",
        "s": "write 90, or a time such as 1.5 min",
        "h": "write 1.5, or a time such as 90 min",
        "/min": "write 60, or a rate such as 1 Hz",
        "1": "write a plain number without quotes",
    }
    return examples.get(unit, f"write a plain number in {unit}, or one with its unit")


def _factor(written: str, unit: str, text: str) -> Fraction:
    if not written:
        return Fraction(1)
    wanted = _measure(_ucum(unit))
    given = _measure(_spoken(written)) if wanted else None
    if given is None:
        near = _near(written)
        hint = f" Did you mean {near}?" if near else ""
        raise NotAQuantity(f"“{written}” is no unit known here.{hint} The field is in {unit}.")
    if wanted is None:
        raise NotAQuantity(f"“{text}” cannot be put in {unit} here; write a plain number.")
    if given[1:] != wanted[1:]:
        raise NotAQuantity(_mismatch(text, _kind(given), _kind(wanted), unit))
    return given[0] / wanted[0]


def _kind(measure: tuple[Fraction, str, Fraction]) -> str:
    _, dimension, angle = measure
    if dimension == "1":
        return "an angle" if angle else "a plain number or a share"
    return _KINDS.get(dimension, "another quantity")


def _mismatch(text: str, is_a: str, needs: str, unit: str) -> str:
    hint = ""
    if (is_a, needs) == ("a mass", "a force"):
        hint = " Where its weight is meant, write it as a force: lbf or kgf."
    if (is_a, needs) == ("a force", "a mass"):
        hint = " Where a mass is meant, write kg or lb."
    unit_words = "" if unit == "1" else f" in {unit}"
    return f"“{text}” is {is_a}; this field needs {needs}{unit_words}.{hint}"


def _ucum(code: str) -> str:
    """A UCUM code as pint reads it.

    >>> _ucum("N.mm/rad"), _ucum("/min"), _ucum("m/s2"), _ucum("{ball}/min")
    ('N*mm/radian', '1/minute', 'm/s**2', '1/minute')
    """
    text = re.sub(r"\{[^}]*\}", "", code).replace(".", "*")
    text = re.sub(r"(?<=[a-zA-Z])([2-4])", r"**\1", text)
    names = {"deg": "degree", "rad": "radian", "min": "minute", "h": "hour", "d": "day"}
    text = re.sub(r"[a-zA-Z]+", lambda m: names.get(m[0], m[0]), text).replace("%", "percent")
    return f"1{text}" if text.startswith("/") else text or "1"


def _spoken(written: str) -> str:
    """A unit as people write it, as pint reads it."""
    text = re.sub(r"\s*\bper\s+", "/", written).replace("·", "*").replace("−", "-")
    text = re.sub(r"(?<=[a-zA-Z])[.-](?=[a-zA-Z])", "*", text).rstrip(".")
    text = text.translate(str.maketrans("²³µμ", "23uu"))
    text = re.sub(r"(?<=[a-zA-Z])\^?([2-4])", r"**\1", re.sub(r"\s+", "", text))
    text = "".join(_MARKS.get(mark, mark) for mark in text)
    text = re.sub(r"[a-zA-Z]+", lambda m: _WRITTEN.get(m[0], m[0]), text)
    return f"1{text}" if text.startswith("/") else text


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(non_int_type=Fraction)


@cache
def _measure(expression: str) -> tuple[Fraction, str, Fraction] | None:
    """(factor to base units, dimension as text, power of angle); None: no such unit."""
    registry = _registry()
    if not re.fullmatch(r"[A-Za-z0-9*/_]+", expression):
        return None
    try:
        units = registry.parse_units(expression)
        factor, _ = registry.get_root_units(units)
        dimension = _written_out(registry.get_dimensionality(units))
        angle = Fraction(0)
        for name, power in units._units.items():
            if str(name).endswith(_ANGLES):
                angle += Fraction(power)
    except Exception:  # pint raises many kinds for what it cannot read
        return None
    return Fraction(factor), dimension, angle


def _written_out(dimension: Mapping[str, Any]) -> str:
    above: list[str] = []
    below: list[str] = []
    for name in sorted(dimension):
        power = Fraction(dimension[name])
        text = name if abs(power) == 1 else f"{name}**{abs(power)}"
        (above if power > 0 else below).append(text)
    return "/".join(["*".join(above) or "1", *below])


def _near(written: str) -> str:
    import difflib

    known = ["mm", "cm", "m", "in", "ft", "yd", "thou", "g", "kg", "oz", "lb", "N", "kN", "lbf"]
    known += ["kgf", "ozf", "s", "min", "h", "deg", "Hz", "rpm", "J", "W", "MPa", "psi", "inch"]
    known += ["feet", "pound", "second", "minute", "hour", "degree", "percent"]
    close = difflib.get_close_matches(written, known, n=1, cutoff=0.5)
    return close[0] if close else ""
