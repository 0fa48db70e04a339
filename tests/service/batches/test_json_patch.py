"""JSON Patch: every example of RFC 6902, appendix A, and what is shared."""

import copy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_service.json_patch import BadPatch, json_patch, same

Json = Any

#: RFC 6902, appendix A.1 to A.8, A.10, A.11, A.14, A.16: document, patch, expected.
EXAMPLES: list[tuple[str, Json, list[Json], Json]] = [
    (
        "A.1",
        {"foo": "bar"},
        [{"op": "add", "path": "/baz", "value": "qux"}],
        {"baz": "qux", "foo": "bar"},
    ),
    (
        "A.2",
        {"foo": ["bar", "baz"]},
        [{"op": "add", "path": "/foo/1", "value": "qux"}],
        {"foo": ["bar", "qux", "baz"]},
    ),
    ("A.3", {"baz": "qux", "foo": "bar"}, [{"op": "remove", "path": "/baz"}], {"foo": "bar"}),
    (
        "A.4",
        {"foo": ["bar", "qux", "baz"]},
        [{"op": "remove", "path": "/foo/1"}],
        {"foo": ["bar", "baz"]},
    ),
    (
        "A.5",
        {"baz": "qux", "foo": "bar"},
        [{"op": "replace", "path": "/baz", "value": "boo"}],
        {"baz": "boo", "foo": "bar"},
    ),
    (
        "A.6",
        {"foo": {"bar": "baz", "waldo": "fred"}, "qux": {"corge": "grault"}},
        [{"op": "move", "from": "/foo/waldo", "path": "/qux/thud"}],
        {"foo": {"bar": "baz"}, "qux": {"corge": "grault", "thud": "fred"}},
    ),
    (
        "A.7",
        {"foo": ["all", "grass", "cows", "eat"]},
        [{"op": "move", "from": "/foo/1", "path": "/foo/3"}],
        {"foo": ["all", "cows", "eat", "grass"]},
    ),
    (
        "A.8",
        {"baz": "qux", "foo": ["a", 2, "c"]},
        [
            {"op": "test", "path": "/baz", "value": "qux"},
            {"op": "test", "path": "/foo/1", "value": 2},
        ],
        {"baz": "qux", "foo": ["a", 2, "c"]},
    ),
    (
        "A.10",
        {"foo": "bar"},
        [{"op": "add", "path": "/child", "value": {"grandchild": {}}}],
        {"foo": "bar", "child": {"grandchild": {}}},
    ),
    (
        "A.11",
        {"foo": "bar"},
        [{"op": "add", "path": "/baz", "value": "qux", "xyz": 123}],
        {"foo": "bar", "baz": "qux"},
    ),
    (
        "A.14",
        {"/": 9, "~1": 10},
        [{"op": "test", "path": "/~01", "value": 10}],
        {"/": 9, "~1": 10},
    ),
    (
        "A.16",
        {"foo": ["bar"]},
        [{"op": "add", "path": "/foo/-", "value": ["abc", "def"]}],
        {"foo": ["bar", ["abc", "def"]]},
    ),
]


@pytest.mark.parametrize(("name", "document", "patch", "expected"), EXAMPLES)
def test_examples_of_the_standard(name: str, document: Json, patch: Json, expected: Json) -> None:
    before = copy.deepcopy(document)
    assert json_patch(document, patch) == expected
    assert document == before


@pytest.mark.parametrize(
    ("document", "operation", "place"),
    [
        ({"baz": "qux"}, {"op": "test", "path": "/baz", "value": "bar"}, "/0/value"),  # A.9
        ({"foo": "bar"}, {"op": "add", "path": "/baz/bat", "value": "qux"}, "/0/path"),  # A.12
        ({"/": 9, "~1": 10}, {"op": "test", "path": "/~01", "value": "10"}, "/0/value"),  # A.15
        ({"a": [1]}, {"op": "add", "path": "/a/2", "value": 1}, "/0/path"),
        ({"a": [1]}, {"op": "add", "path": "/a/01", "value": 1}, "/0/path"),
        ({"a": [1]}, {"op": "replace", "path": "/a/-", "value": 1}, "/0/path"),
        ({"a": "text"}, {"op": "add", "path": "/a/0", "value": 1}, "/0/path"),
        ({"a": {"b": 1}}, {"op": "move", "from": "/a", "path": "/a/b"}, "/0/path"),
        ({"a": 1}, {"op": "copy", "from": "/b", "path": "/c"}, "/0/from"),
        ({"a": 1}, {"op": "remove", "path": ""}, "/0/path"),
        ({"a": 1}, {"op": "remove", "path": "a"}, "/0/path"),
        ({"a": 1}, {"op": "add", "path": "/b"}, "/0/value"),
        ({"a": 1}, {"op": "set", "path": "/b"}, "/0/op"),
        ({"a": 1}, {"path": "/b"}, "/0/op"),
        ({"a": 1}, 7, "/0"),
    ],
)
def test_what_cannot_be_done_is_refused_at_its_place(
    document: Json, operation: Json, place: str
) -> None:
    with pytest.raises(BadPatch) as refused:
        json_patch(document, [operation])
    assert refused.value.pointer == place


def test_a_patch_is_a_list() -> None:
    with pytest.raises(BadPatch):
        json_patch({}, {"op": "add"})


def test_the_whole_may_be_replaced() -> None:
    assert json_patch({"a": 1}, [{"op": "add", "path": "", "value": {"b": 2}}]) == {"b": 2}
    assert json_patch({"a": 1}, [{"op": "replace", "path": "", "value": {"b": 2}}]) == {"b": 2}


def test_what_stays_is_shared() -> None:
    document: Json = {"a": {"x": 1}, "b": {"y": [1, {"z": 2}]}}
    after = json_patch(document, [{"op": "replace", "path": "/b/y/0", "value": 5}])
    assert after["a"] is document["a"] and after["b"]["y"][1] is document["b"]["y"][1]
    assert document["b"]["y"][0] == 1


def test_true_is_no_number_and_a_number_is_one_however_written() -> None:
    assert same(1, 1.0) and same([1, {"a": 2.0}], [1.0, {"a": 2}])
    assert not same(1, True) and not same(False, 0) and not same("1", 1) and not same([], {})


VALUES = st.recursive(
    st.integers(0, 3) | st.text("ab", max_size=2),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text("ab/~", max_size=2), inner),
    max_leaves=8,
)


@settings(max_examples=10, deadline=None, derandomize=True)
@given(st.dictionaries(st.text("ab/~", max_size=2), VALUES, min_size=1), VALUES)
def test_adding_and_taking_away_again_changes_nothing(document: Json, value: Json) -> None:
    operations = [
        {"op": "add", "path": "/new", "value": value},
        {"op": "copy", "from": "/new", "path": "/other"},
        {"op": "test", "path": "/other", "value": value},
        {"op": "remove", "path": "/new"},
        {"op": "remove", "path": "/other"},
    ]
    assert json_patch(document, operations) == document
