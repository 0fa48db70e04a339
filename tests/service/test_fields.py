"""Fields take what JSON Schema says, nothing more, and say where a fault is."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from baywright_service.contract import (
    ByKey,
    Choice,
    Column,
    Flag,
    Inputs,
    InputSchema,
    InvalidInputs,
    Key,
    ListOf,
    Names,
    Num,
    Part,
    Text,
    Whole,
    merge_patch,
    resolve,
    table_of,
)
from baywright_service.fields import MOST_FAULTS, flatten_faults
from baywright_service.pointers import PointerToNowhere, escape, parts_of
from baywright_service.schemas import json_schema
from tests.service.fakes import Everything, Span


def faults(field: Any, value: Any) -> list[tuple[str, str]]:
    """The faults of one value of one field."""
    _, found = flatten_faults(table_of(x=field)(), {"x": value})
    return [(pointer.removeprefix("/x"), fault.code) for pointer, fault in found]


def loaded(field: Any, value: Any) -> Any:
    """What a valid value becomes."""
    body, found = flatten_faults(table_of(x=field)(), {"x": value})
    assert found == []
    return body["x"]


@pytest.mark.parametrize("value", [3, 3.0, -0.0, 5e-324, 1.7e308])
def test_a_number_becomes_a_float(value: float) -> None:
    number = loaded(Num("mm"), value)
    assert type(number) is float and number == value


NO_NUMBERS = [True, False, "1", "", [], {}, [1]]


@pytest.mark.parametrize("value", NO_NUMBERS)
def test_what_is_no_number_is_refused(value: Any) -> None:
    assert faults(Num("mm"), value) == [("", "wrong-type")]
    assert faults(Whole(), value) == [("", "wrong-type")]


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 10**400])
def test_what_is_not_finite_is_refused(value: float) -> None:
    assert faults(Num("mm"), value) == [("", "out-of-range")]
    assert faults(Column("mm"), [0, value]) == [("/1", "out-of-range")]


def test_bounds_hold_at_both_ends() -> None:
    field = Num("mm", minimum=1, maximum=2)
    assert [faults(field, x) for x in (1, 2)] == [[], []]
    assert [faults(field, x) for x in (0.999, 2.001)] == [[("", "out-of-range")]] * 2
    assert faults(Num("mm", above=1), 1) and not faults(Num("mm", above=1), 1.0000001)


def test_a_whole_number_becomes_an_int() -> None:
    assert [loaded(Whole(), x) for x in (211, 211.0)] == [211, 211]
    assert type(loaded(Whole(), 211.0)) is int


def test_a_column_becomes_an_array_in_its_shape() -> None:
    assert loaded(Column("mm"), [1, 2.5]).tolist() == [1.0, 2.5]
    assert loaded(Column("mm", width=3), [[1, 2, 3], [4, 5, 6]]).shape == (2, 3)
    assert loaded(Column("mm", width=3), []).shape == (0, 3)
    assert loaded(Column(whole=True), [1, 2.0]).dtype == np.int64


@given(st.lists(st.integers(-100, 100) | st.floats(-100, 100), max_size=30))
def test_a_column_keeps_every_number(values: list[float]) -> None:
    assert loaded(Column("mm"), values).tolist() == [float(x) for x in values]


@given(
    st.lists(st.sampled_from([0, 1.5, 200, True, "1", None, [], math.inf]), min_size=1, max_size=12)
)
def test_a_column_faults_where_its_numbers_alone_would(values: list[Any]) -> None:
    """Held against one Num for each entry; types are looked at before values."""
    found = faults(Column("mm", minimum=0, maximum=100), values)
    kinds = [k for k, x in enumerate(values) if type(x) not in (int, float)]
    infinite = [k for k, x in enumerate(values) if type(x) is float and math.isinf(x)]
    outside = [k for k, x in enumerate(values) if type(x) in (int, float) and x > 100]
    expected = kinds or infinite or outside
    assert [pointer for pointer, _ in found] == [f"/{k}" for k in expected]


def test_a_bulk_field_names_its_first_faults_only() -> None:
    assert len(faults(Column("mm"), ["x"] * 5000)) == MOST_FAULTS
    assert len(faults(Names(), [1] * 5000)) == MOST_FAULTS


def test_lengths_are_held() -> None:
    assert faults(Column("mm", most=2), [1, 2, 3]) == [("", "too-many")]
    assert faults(Column("mm", fewest=2), [1]) == [("", "out-of-range")]
    assert faults(Names(most=1), ["a", "b"]) == [("", "too-many")]
    assert faults(Names(), ["a" * 65]) == [("/0", "too-long")]
    assert faults(ListOf(Num("mm"), fewest=1), []) == [("", "out-of-range")]
    assert faults(ByKey(Num("mm"), most=1), {"a": 1, "b": 1}) == [("", "too-many")]


def test_a_key_starts_with_a_letter_or_digit() -> None:
    assert [faults(Key(), x) for x in ("R120", "a.b_c-d", "1")] == [[], [], []]
    assert [faults(Key(), x) for x in ("", "-a", "a b", "a/b", "é", "a\n")] == [
        [("", "wrong-format")]
    ] * 6
    assert faults(Key(), "a" * 65) == [("", "too-long")]


def test_words_flags_and_text() -> None:
    assert loaded(Choice("a", "b"), "b") == "b"
    assert loaded(Flag(), False) is False
    assert faults(Text(longest=3), "abcd") == [("", "too-long")]
    assert faults(Text(), "a\x00b") == [("", "wrong-format")]


def test_parts_inside_lists_are_pointed_into() -> None:
    item = table_of(x_mm=Num("mm", required=True), inner=Part(table_of(y=Whole())))
    found = faults(ListOf(item), [{"x_mm": 1}, {"inner": {"y": 0.5, "z": 1}}, 3])
    assert found == [
        ("/1/inner/y", "wrong-type"),
        ("/1/inner/z", "unknown-field"),
        ("/1/x_mm", "missing"),
        ("/2", "wrong-type"),
    ]


def test_faults_are_sorted_by_place_and_entries_by_number() -> None:
    found = faults(ListOf(Num("mm"), most=50), ["x" if k in (2, 10) else 0 for k in range(12)])
    assert [pointer for pointer, _ in found] == ["/2", "/10"]


def test_a_flood_of_unknown_names_is_refused_quickly() -> None:
    """Hints are looked for among the first few only; 100,000 searches would take minutes."""
    body = {f"unknown-{k}": k for k in range(100_000)}
    _, found = flatten_faults(Everything.inputs_schema(), body)
    assert len(found) == 100_000


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-10, 1100) | st.floats(-10, 110) | st.text(max_size=5),
    lambda below: (
        st.lists(below, max_size=3) | st.dictionaries(st.text(max_size=5), below, max_size=3)
    ),
    max_leaves=6,
)


@given(st.sampled_from(sorted(Everything.inputs_schema().fields)), VALUES)
def test_validation_and_json_schema_agree(name: str, value: Any) -> None:
    """What the published schema allows is taken, and what it forbids is refused.

    `distinct` and `one of` are beyond what JSON Schema says here, so they may refuse more.
    """
    validator = Draft202012Validator(json_schema(Everything.inputs_schema))
    if value is None:
        return  # null is taken out by the reader
    allowed = validator.is_valid({name: value})
    _, found = flatten_faults(Everything.inputs_schema(), {name: value})
    if name in ("items", "one_of", "anything") or _holds_null(value):
        assert allowed or found or name == "anything"
    else:
        assert allowed == (not found), found


def _holds_null(value: Any) -> bool:
    if isinstance(value, dict):
        return any(_holds_null(inner) for inner in value.values())
    return any(map(_holds_null, value)) if isinstance(value, list) else value is None


def test_a_calculator_loads_all_or_names_every_fault() -> None:
    body = {"kit": {"rods": [{"id": "R", "pitch_mm": 100}]}, "rod": "R", "bays": 2}
    inputs = Span().load(body)
    assert (inputs["limit_mm"], inputs.raw, inputs.proving) == (1000.0, body, False)
    with pytest.raises(InvalidInputs) as caught:
        Span().load({"kit": {}, "bays": 0})
    places = [pointer for pointer, _ in caught.value.faults]
    assert places == ["/bays", "/kit/rods", "/rod"]


def test_a_remedy_is_proven_by_running_it() -> None:
    inputs = Span().load(
        {"kit": {"rods": [{"id": "R", "pitch_mm": 100}]}, "rod": "R", "bays": 20, "limit_mm": 500}
    )
    remedy = Span().calculate(inputs).findings[0].remedy
    assert remedy is not None and remedy.patch is not None
    again = Span().rerun(inputs, remedy.patch)
    assert again is not None and again.verdict == "ok"
    assert Span().rerun(inputs, {"rod": "none"}) is None
    assert Span().rerun(inputs, {"bays": None}) is None
    assert isinstance(inputs, Inputs) and inputs["bays"] == 20


def test_pointers_follow_rfc_6901() -> None:
    """The examples of section 5, and the table of what they mean."""
    document = {
        "foo": ["bar", "baz"], "": 0, "a/b": 1, "c%d": 2, "e^f": 3, "g|h": 4, "i\\j": 5, 'k"l': 6,
        " ": 7, "m~n": 8,
    }  # fmt: skip
    expected = {
        "": document, "/foo": ["bar", "baz"], "/foo/0": "bar", "/": 0, "/a~1b": 1, "/c%d": 2,
        "/e^f": 3, "/g|h": 4, "/i\\j": 5, '/k"l': 6, "/ ": 7, "/m~0n": 8,
    }  # fmt: skip
    for pointer, value in expected.items():
        assert resolve(document, pointer) == value
        assert escape(*parts_of(pointer)) == pointer
    for nowhere in ("/bar", "/foo/2", "/foo/x", "/foo/0/0", "/foo/-1"):
        with pytest.raises(PointerToNowhere):
            resolve(document, nowhere)


def test_merge_patches_follow_rfc_7396() -> None:
    """The test cases of its appendix A whose target and patch are objects or give one."""
    cases: list[tuple[Any, Any, Any]] = [
        ({"a": "b"}, {"a": "c"}, {"a": "c"}),
        ({"a": "b"}, {"b": "c"}, {"a": "b", "b": "c"}),
        ({"a": "b"}, {"a": None}, {}),
        ({"a": "b", "b": "c"}, {"a": None}, {"b": "c"}),
        ({"a": ["b"]}, {"a": "c"}, {"a": "c"}),
        ({"a": "c"}, {"a": ["b"]}, {"a": ["b"]}),
        ({"a": {"b": "c"}}, {"a": {"b": "d", "c": None}}, {"a": {"b": "d"}}),
        ({"a": [{"b": "c"}]}, {"a": [1]}, {"a": [1]}),
        (["a", "b"], ["c", "d"], ["c", "d"]),
        ({"a": "b"}, ["c"], ["c"]),
        ({"a": "foo"}, "bar", "bar"),
        ([1, 2], {"a": "b", "c": None}, {"a": "b"}),
        ({}, {"a": {"bb": {"ccc": None}}}, {"a": {"bb": {}}}),
    ]
    for target, patch, result in cases:
        assert merge_patch(target, patch) == result


def test_a_schema_of_the_house_is_an_input_schema() -> None:
    assert issubclass(Span.inputs_schema, InputSchema)
