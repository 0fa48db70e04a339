"""Names, numbers and units as people read them."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..schemas import Walk

HEADINGS: Mapping[str, str] = {
    "stop": "Change before you build",
    "watch": "Keep an eye on",
    "ok": "Good to know",
}
SHAPES: Mapping[str, str] = {"ok": "✔", "watch": "!", "stop": "✖"}

#: UCUM codes that read differently in print.
_PRINTED = {
    "1": "",
    "/min": "per min",
    "/h": "per h",
    "deg": "°",
    "N/mm2": "N/mm²",
    "N.mm2": "N mm²",
    "m/s2": "m/s²",
    "mm2": "mm²",
    "m2": "m²",
    "kg/m3": "kg/m³",
    "d": "days",
    "[ppm]": "ppm",
}
#: Units that a name may end in, longest first, where no schema says it.
_ENDINGS = (
    ("_n_per_mm2", "N/mm2"),
    ("_n_per_mm", "N/mm"),
    ("_m_per_s", "m/s"),
    ("_per_min", "/min"),
    ("_percent", "%"),
    ("_mm_s", "mm/s"),
    ("_ratio", "1"),
    ("_count", "1"),
    ("_n_m", "N.m"),
    ("_deg", "deg"),
    ("_mm", "mm"),
    ("_kg", "kg"),
    ("_hz", "Hz"),
    ("_min", "min"),
    ("_ms", "ms"),
    ("_g", "g"),
    ("_h", "h"),
    ("_j", "J"),
    ("_n", "N"),
    ("_s", "s"),
    ("_w", "W"),
)


def printed_unit(code: str) -> str:
    """A UCUM code as it is printed beside a number.

    >>> printed_unit("N.m/rad"), printed_unit("1"), printed_unit("mm")
    ('N m/rad', '', 'mm')
    """
    return _PRINTED.get(code, code.replace(".", " "))


def number_text(value: float) -> str:
    """A number short enough to read: whole digits kept, the rest to four places that count.

    >>> number_text(1682.7512), number_text(0.99771), number_text(754.0), number_text(1e-9)
    ('1682.8', '0.9977', '754', '1e-09')
    """
    if isinstance(value, int) or float(value).is_integer() and abs(value) < 1e15:
        return str(int(value))
    if not 1e-4 <= abs(value) < 1e9:
        return f"{value:.4g}"
    before = math.floor(math.log10(abs(value))) + 1
    text = f"{value:.{max(1, 4 - before)}f}"
    return text.rstrip("0").rstrip(".")


def with_unit(text: str, unit: str) -> str:
    """A number and its printed unit."""
    return f"{text}{'' if unit in ('°', '%', '') else ' '}{unit}"


def measure_text(measure: Mapping[str, Any] | None) -> str:
    """A finding's number beside its limit: "754 mm, limit 729 mm"; a bare count says nothing."""
    if not measure:
        return ""
    unit = printed_unit(measure["unit"])
    value = with_unit(number_text(measure["value"]), unit)
    if "limit" in measure:
        return f"{value}, limit {with_unit(number_text(measure['limit']), unit)}"
    return value if unit else ""


def remedy_text(remedy: Mapping[str, Any] | None) -> str:
    """What to do about a finding; "" where nothing is proposed."""
    if not remedy:
        return ""
    proven = " (tried: this clears it)" if "patch" in remedy else ""
    return f"{remedy['message']}{proven}"


def plain_name(field: str) -> tuple[str, str]:
    """A field's name in words, and the printed unit that its ending names.

    >>> plain_name("overall_width_mm"), plain_name("hub_count"), plain_name("mm")
    (('overall width', 'mm'), ('hub count', ''), ('mm', ''))
    """
    for ending, unit in _ENDINGS:
        if field.endswith(ending) and len(field) > len(ending):
            # A count or ratio of something in the singular reads better whole: "hub count".
            bare = field.removesuffix(ending)
            kept = field if unit == "1" and not bare.endswith("s") else bare
            return kept.replace("_", " "), printed_unit(unit)
    return field.replace("_", " ").replace("-", " "), ""


@dataclass(frozen=True)
class Fact:
    """One value of a result: the object it stands in ("" at the top), its name, the value."""

    group: str
    name: str
    text: str


class Facts:
    """The single values of a result, named by its schema; lists are left to tables."""

    def __init__(self, schema: Mapping[str, Any]) -> None:
        self.walk = Walk(schema)

    def of(self, result: Mapping[str, Any]) -> list[Fact]:
        """Those at the top, then those one object further in."""
        return [*self._values(result, [], ""), *self._inner(result)]

    def _inner(self, result: Mapping[str, Any]) -> Iterator[Fact]:
        for key, value in result.items():
            if isinstance(value, Mapping):
                yield from self._values(value, [key], sentence(self._name([key])))

    def _values(
        self, values: Mapping[str, Any], before: Sequence[str], group: str
    ) -> Iterator[Fact]:
        for key, value in values.items():
            text = value_text(value)
            if text:
                parts = [*before, key]
                unit = self._unit(parts, value)
                yield Fact(group, self._name(parts), with_unit(text, unit))

    def _name(self, parts: list[str]) -> str:
        titles = (shape.get("title") for shape in self.walk.at(parts))
        return next((str(title) for title in titles if title), plain_name(parts[-1])[0])

    def _unit(self, parts: list[str], value: Any) -> str:
        """The printed unit of a number; an object's name gives its members theirs."""
        if isinstance(value, (bool, str)) or isinstance(value, list) and str in map(type, value):
            return ""
        codes = [shape["x-unit"] for shape in self.walk.at(parts) if "x-unit" in shape]
        if codes:
            return printed_unit(codes[0])
        return next(filter(None, (plain_name(part)[1] for part in reversed(parts))), "")


def value_text(value: Any) -> str:
    """A single value, or a short list of them; "" for everything else."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return number_text(value)
    if isinstance(value, str):
        return value if len(value) <= 300 else value[:299] + "…"
    if isinstance(value, list) and 0 < len(value) <= 6:
        texts = [value_text(inner) for inner in value if not isinstance(inner, (list, Mapping))]
        return ", ".join(texts) if len(texts) == len(value) and all(texts) else ""
    return ""


def sentence(text: str) -> str:
    """`text` with a capital at its start."""
    return text[:1].upper() + text[1:]


def brief(text: str, most: int = 160) -> str:
    """The beginning of a long text, cut between words.

    >>> brief("one two three", 9)
    'one two …'
    """
    return text if len(text) <= most else f"{text[: most - 1].rsplit(' ', 1)[0]} …"
