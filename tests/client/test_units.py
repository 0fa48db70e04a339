"""Quantities with units: published factors, exact arithmetic, and refusals that say why."""

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright_client.units import NotAQuantity, convert, exact_in_unit, in_unit

PUBLISHED = json.loads(
    (Path(__file__).parents[1] / "data" / "published" / "units.json").read_text()
)
#: How the published factors are asked for here: the text, and the field's unit.
ASKED = {
    "g0 in m/s2": ("1 standard_gravity", "m/s2"),
    "lbf in N": ("1 lbf", "N"),
    "inch in m": ("1 in", "m"),
    "psi in Pa": ("1 psi", "Pa"),
    "kgf in N": ("1 kgf", "N"),
    "mph in m/s": ("1 mph", "m/s"),
    "ft lbf in J": ("1 ft*lbf", "J"),
}


@pytest.mark.parametrize("entry", PUBLISHED, ids=lambda entry: entry["id"])
def test_published_factors(entry: dict[str, Any]) -> None:
    """CODATA and NIST SP 811 factors, and 1 in = 25.4 mm (1959 agreement); source in the file."""
    factor = entry["inputs"].get("factor")
    text, unit = ASKED[factor] if factor else (entry["inputs"]["text"], "mm")
    tolerance = {f"{key}": value for key, value in entry["tolerance"].items()}
    assert in_unit(text, unit) == pytest.approx(entry["expected"], **tolerance)


@pytest.mark.parametrize(
    ("text", "unit", "exact"),
    [
        ("32 in", "mm", "812.8"),
        ("7 ft", "mm", "2133.6"),
        ("5 ft 2 in", "mm", "1574.8"),
        ("5' 2\"", "mm", "1574.8"),
        ("2 1/2 in", "mm", "63.5"),
        ("-3 in", "mm", "-76.2"),
        ("3mm", "mm", "3"),
        ("1e3 mm", "mm", "1000"),
        ("1 yd 1 ft", "mm", "1219.2"),
        ("10 mil", "mm", "0.254"),
        ("1 h", "min", "60"),
        ("1 h 30 min", "min", "90"),
        ("90 s", "min", "1.5"),
        ("1 Hz", "/min", "60"),
        ("20 per min", "/min", "20"),
        ("20 /min", "/min", "20"),
        ("60 rpm", "/min", "60"),
        ("2 kN/m", "N/mm", "2"),
        ("1 N/mm^2", "N/mm2", "1"),
        ("1 MPa", "N/mm2", "1"),
        ("9.81 m/s²", "m/s2", "9.81"),
        ("3 N.mm/rad", "N.mm/rad", "3"),
        ("0.5 oz", "g", "14.1747615625"),
        ("2 lb", "kg", "0.90718474"),
        ("1.5 %", "%", "1.5"),
        ("1.5 %", "1", "0.015"),
        ("3/8", "1", "0.375"),
        ("30°", "deg", "30"),
    ],
)
def test_exact_values(text: str, unit: str, exact: str) -> None:
    """By definition: inch 25.4 mm, foot 12 in, yard 3 ft, pound 0.45359237 kg, ounce a 16th."""
    assert exact_in_unit(text, unit) == Fraction(exact)


@pytest.mark.parametrize(
    ("text", "unit", "says"),
    [
        ("5 kg", "N", "is a mass; this field needs a force in N"),
        ("5 kg", "N", "lbf or kgf"),
        ("100 lbf", "kg", "is a force; this field needs a mass in kg"),
        ("3 in", "N", "a length; this field needs a force"),
        ("3 min", "mm", "a time; this field needs a length"),
        ("12", "mm", "has no unit"),
        ("5 ft 2", "mm", "has no unit"),
        ("30 deg", "1", "is an angle; this field needs a plain number"),
        ("0.5", "deg", "has no unit"),
        ("3 foo", "mm", "no unit known here"),
        ("3 inc", "mm", "Did you mean in"),
        ("1/0 in", "mm", "divides by zero"),
        ("wide", "mm", "is not a number with a unit"),
        ("3 in; 4", "mm", "is not a number with a unit"),
        ("9e999 m", "mm", "beyond every number"),
        ("3 " + "x" * 200, "mm", "is not a number with a unit"),
        ("3 in**9999999", "mm", "has no unit"),
    ],
)
def test_refusals_say_why(text: str, unit: str, says: str) -> None:
    with pytest.raises(NotAQuantity, match=says.replace("(", r"\(")):
        in_unit(text, unit)


@given(st.decimals(min_value=0, max_value=10**6, places=4), st.sampled_from(["in", "ft", "yd"]))
def test_lengths_round_trip(number: Any, unit: str) -> None:
    """There and back is the same fraction, whatever the number."""
    there = exact_in_unit(f"{number} {unit}", "mm")
    factor = {"in": 1, "ft": 12, "yd": 36}[unit]
    assert there / Fraction("25.4") / factor == Fraction(number)


@given(st.integers(0, 100), st.integers(0, 11), st.integers(0, 63), st.sampled_from([2, 4, 32, 64]))
def test_mixed_inches_add_up(feet: int, inches: int, over: int, under: int) -> None:
    """Feet, inches and a fraction are their sum."""
    text = f"{feet} ft {inches} {over}/{under} in"
    expected = (feet * 12 + inches + Fraction(over, under)) * Fraction("25.4")
    assert exact_in_unit(text, "mm") == expected


@given(st.floats(min_value=1e-6, max_value=1e6))
def test_a_number_in_its_own_unit_stays_itself(number: float) -> None:
    assert in_unit(f"{number!r} N", "N") == number


@given(st.text(max_size=40), st.sampled_from(["mm", "N", "1", "/min", "nonsense"]))
def test_any_text_is_a_number_or_a_reason(text: str, unit: str) -> None:
    """No text ends in anything but a number or NotAQuantity."""
    try:
        assert isinstance(in_unit(text, unit), (int, float))
    except NotAQuantity as error:
        assert str(error)


SCHEMA = {
    "type": "object",
    "properties": {
        "width_mm": {"type": "number", "x-unit": "mm"},
        "note": {"type": "string"},
        "either": {"anyOf": [{"type": "number", "x-unit": "mm"}, {"type": "string"}]},
        "stations_mm": {"type": "array", "x-unit": "mm", "items": {"type": "number"}},
        "corners_mm": {
            "type": "array",
            "x-unit": "mm",
            "items": {"type": "array", "items": {"type": "number"}},
        },
        "rods": {"type": "array", "items": {"$ref": "#/$defs/rod"}},
        "kit": {"anyOf": [{"$ref": "#/$defs/kit"}, {"properties": {"id": {"type": "string"}}}]},
        "loads": {"additionalProperties": {"type": "number", "x-unit": "N"}},
    },
    "$defs": {
        "rod": {"properties": {"id": {"type": "string"}, "mass_g": {"$ref": "#/$defs/mass"}}},
        "mass": {"type": "number", "x-unit": "g"},
        "kit": {"properties": {"play_mm": {"type": "number", "x-unit": "mm"}}},
    },
}


def test_conversion_follows_the_schema() -> None:
    """References, choices, lists, rows and keyed objects; text stays text where text may stand."""
    done = convert(
        {
            "width_mm": "32 in",
            "note": "3 in",
            "either": "3 in",
            "stations_mm": [1, "1 in"],
            "corners_mm": [[0, 0, "1 ft"]],
            "rods": [{"id": "3 in", "mass_g": "1 kg"}],
            "kit": {"play_mm": "1/32 in"},
            "loads": {"a": "100 lbf"},
            "stranger": "3 in",
        },
        SCHEMA,
        "/steps/0/inputs",
    )
    assert done.value == {
        "width_mm": 812.8,
        "note": "3 in",
        "either": "3 in",
        "stations_mm": [1, 25.4],
        "corners_mm": [[0, 0, 304.8]],
        "rods": [{"id": "3 in", "mass_g": 1000}],
        "kit": {"play_mm": 0.79375},
        "loads": {"a": 444.82216152605},
        "stranger": "3 in",
    }
    assert done.conversions[0].pointer == "/steps/0/inputs/width_mm"
    assert not done.faults


def test_every_fault_is_found() -> None:
    done = convert({"width_mm": "5 kg", "stations_mm": ["3 N", 2]}, SCHEMA)
    assert [pointer for pointer, _ in done.faults] == ["/width_mm", "/stations_mm/0"]
