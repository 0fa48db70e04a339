"""Names, numbers and units as people read them."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

#: Suffix of a field's name, longest first, and the unit it stands for.
_SUFFIXES = (
    ("_n_mm_per_rad", "N mm/rad"),
    ("_kg_per_m3", "kg/m³"),
    ("_n_per_mm2", "N/mm²"),
    ("_mm_per_s", "mm/s"),
    ("_mm_s", "mm/s"),
    ("_m_s", "m/s"),
    ("_n_per_mm", "N/mm"),
    ("_per_min", "per min"),
    ("_m_s2", "m/s²"),
    ("_per_h", "per h"),
    ("_m_per_s", "m/s"),
    ("_mm2", "mm²"),
    ("_m2", "m²"),
    ("_nm", "N m"),
    ("_n_m", "N m"),
    ("_deg", "°"),
    ("_min", "min"),
    ("_percent", "%"),
    ("_hz", "Hz"),
    ("_mm", "mm"),
    ("_kg", "kg"),
    ("_g", "g"),
    ("_n", "N"),
    ("_j", "J"),
    ("_s", "s"),
    ("_h", "h"),
    ("_w", "W"),
    ("_m", "m"),
    ("_count", ""),
)
#: UCUM codes that read differently in print.
_PRINTED = {
    "1": "",
    "/min": "per min",
    "/h": "per h",
    "deg": "°",
    "N/mm2": "N/mm²",
    "m/s2": "m/s²",
    "mm2": "mm²",
    "N.mm/rad": "N mm/rad",
    "N.m": "N m",
    "kg/m3": "kg/m³",
}

LEVELS = ("ok", "watch", "stop")
SHAPES: Mapping[str, str] = {"ok": "✔", "watch": "!", "stop": "✖"}
PLAIN_SHAPES: Mapping[str, str] = {"ok": "+", "watch": "!", "stop": "x"}
HEADINGS: Mapping[str, str] = {
    "stop": "Change before you build",
    "watch": "Keep an eye on",
    "ok": "Good to know",
}


def printed_unit(code: str) -> str:
    """A UCUM code as it is printed beside a number."""
    return _PRINTED.get(code, code.replace(".", " "))


def name_and_unit(field: str) -> tuple[str, str]:
    """A field's name in words, and the unit that its suffix names.

    A count of something said in the plural needs no word more.

    >>> name_and_unit("overall_width_mm"), name_and_unit("hub_count"), name_and_unit("mm")
    (('overall width', 'mm'), ('hub count', ''), ('mm', ''))
    """
    for suffix, unit in _SUFFIXES:
        if field.endswith(suffix) and len(field) > len(suffix):
            plural = field[: -len(suffix)].endswith("s")
            kept = field if suffix == "_count" and not plural else field[: -len(suffix)]
            return kept.replace("_", " "), unit
    return field.replace("_", " ").replace("-", " "), ""


def number_text(value: float, digits: int = 4) -> str:
    """A number short enough to read: whole digits kept, the rest to four places that count.

    >>> number_text(1682.7512), number_text(0.99771), number_text(754.0), number_text(1e-9)
    ('1682.8', '0.9977', '754', '1e-09')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int) or float(value).is_integer() and abs(value) < 1e15:
        return str(int(value))
    if not math.isfinite(value):
        return str(value)
    if abs(value) < 1e-4 or abs(value) >= 1e9:
        return f"{value:.{digits}g}"
    whole = len(str(int(abs(value)))) if abs(value) >= 1 else 0
    small = digits - 1 - math.floor(math.log10(abs(value)))
    places = max(1, digits - whole) if whole else max(digits, small)
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def cell_text(text: str) -> str:
    """A cell of a CSV table, numbers shortened, the guard before a sign taken off."""
    if text.startswith("'") and text[1:2] in ("=", "+", "-", "@", "\t"):
        return text[1:]
    if is_number(text):
        return number_text(float(text)) if "." in text or "e" in text.lower() else text
    return {"true": "yes", "false": "no"}.get(text, text)


def is_number(text: str) -> bool:
    """Whether a cell holds a number and nothing else."""
    try:
        return math.isfinite(float(text)) and text.strip()[:1] in "-+.0123456789"
    except ValueError:
        return False


def measure_text(measure: Mapping[str, Any] | None) -> str:
    """A finding's number beside its limit: "754 mm, limit 729 mm"; a bare count says nothing."""
    if not measure or not isinstance(measure.get("value"), (int, float)):
        return ""
    unit = printed_unit(str(measure.get("unit", "1")))
    space = "" if unit in ("°", "%", "") else " "
    value = f"{number_text(measure['value'])}{space}{unit}"
    limit = measure.get("limit")
    if not isinstance(limit, (int, float)):
        return value if unit else ""
    return f"{value}, limit {number_text(limit)}{space}{unit}"


@dataclass(frozen=True)
class Fact:
    """One value of a result: the object it stands in ("" at the top), its name, value and unit."""

    group: str
    name: str
    text: str


def facts(result: Any, depth: int = 2, group: str = "", unit_of_group: str = "") -> list[Fact]:
    """The single values of a result; lists are left to tables.

    A member without a unit of its own has that of its object: x in `outside_mm`.
    """
    rows: list[Fact] = []
    inner: list[Fact] = []
    if not isinstance(result, Mapping):
        return rows
    for key, value in result.items():
        name, unit = name_and_unit(str(key))
        if isinstance(value, Mapping):
            inner += facts(value, depth - 1, name, unit) if depth > 1 else []
        elif (text := _value_text(value)) != "":
            if isinstance(value, (int, float)) and not isinstance(value, bool):
                unit = unit or unit_of_group
            space = "" if unit in ("°", "%", "") else " "
            rows.append(Fact(group, name, f"{text}{space}{unit}"))
    return [*rows, *inner]


def _value_text(value: Any) -> str:
    if isinstance(value, (bool, int, float)):
        return number_text(value)
    if isinstance(value, str):
        return value if len(value) <= 200 else value[:199] + "…"
    if isinstance(value, Sequence) and 0 < len(value) <= 6:
        parts = [_value_text(inner) for inner in value if isinstance(inner, (int, float, str))]
        return ", ".join(parts) if len(parts) == len(value) else ""
    return ""
