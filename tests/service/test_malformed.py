"""What is sent wrong is refused by name: one request, one status, one type, the place."""

import gzip
import json
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from baywright_service.json_reader import NotJson, read_json

#: From here on a number is nearer to infinity than to the largest double.
LARGEST_ROUNDED = 2**1024 - 2**970

RUN = "/v1/calculators/everything/run"

UNREADABLE = {
    "nothing": b"",
    "blank": b"  \n",
    "no JSON": b"{bays: 3}",
    "cut off": b'{"whole": 1',
    "two values": b'{"whole": 1} {"whole": 2}',
    "trailing comma": b'{"whole": 1,}',
    "comment": b'{"whole": 1} // one',
    "NaN": b'{"number_n": NaN}',
    "Infinity": b'{"number_n": Infinity}',
    "minus Infinity": b'{"number_n": -Infinity}',
    "beyond a double": b'{"number_n": 1e400}',
    "beyond a double, negative": b'{"number_n": -1e400}',
    "beyond 2^53": b'{"whole": 9007199254740992}',
    "beyond -2^53": b'{"whole": -9007199254740992}',
    "400 digits": b'{"whole": 1' + b"0" * 400 + b"}",
    "5,000 digits": b'{"whole": 1' + b"0" * 5000 + b"}",
    "a name twice": b'{"whole": 1, "whole": 2}',
    "a name twice, once escaped": b'{"whole": 1, "\\u0077hole": 2}',
    "a name twice, deep": b'{"part": {"inner_mm": 1, "inner_mm": 1}}',
    "half a surrogate pair": b'{"text": "\\ud800"}',
    "half a surrogate pair in a name": b'{"\\udc00": 1}',
    "NUL": b'{"text": "a\\u0000b"}',
    "raw control character": b'{"text": "a\x01b"}',
    "not UTF-8": b'{"text": "\xff"}',
    "UTF-16": '{"whole": 1}'.encode("utf-16"),
    "byte order mark": b'\xef\xbb\xbf{"whole": 1}',
    "33 deep": b'{"anything": ' + b'{"a": ' * 32 + b"1" + b"}" * 33,
    "100,000 brackets": b"[" * 100_000,
    "100,000 objects": b'{"a":' * 100_000,
    "100,000 brackets, closed": b"[" * 100_000 + b"]" * 100_000,
    "plus sign": b'{"whole": +1}',
    "leading zero": b'{"whole": 01}',
    "hexadecimal": b'{"whole": 0x10}',
    "single quotes": b"{'whole': 1}",
}


@pytest.mark.parametrize("content", UNREADABLE.values(), ids=UNREADABLE.keys())
def test_text_that_is_no_strict_json_is_refused(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]], content: bytes
) -> None:
    response = client.post(RUN, data=content, content_type="application/json")
    assert_problem(response, 400, "malformed-json")


def test_a_hidden_character_is_found_by_pointer(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    content = b'{"items": [{"item": "a"}, {"item": "\\u0000"}]}'
    response = client.post(RUN, data=content, content_type="application/json")
    assert (
        assert_problem(response, 400, "malformed-json")["errors"][0]["pointer"] == "/items/1/item"
    )


INVALID: dict[str, tuple[Any, list[tuple[str, str]]]] = {
    "list for the body": ([], [("", "wrong-type")]),
    "text for the body": ("whole", [("", "wrong-type")]),
    "text for a number": ({"number_n": "1.5"}, [("/number_n", "wrong-type")]),
    "boolean for a number": ({"number_n": True}, [("/number_n", "wrong-type")]),
    "boolean for a whole number": ({"whole": True}, [("/whole", "wrong-type")]),
    "fraction for a whole number": ({"whole": 1.5}, [("/whole", "wrong-type")]),
    "text for a boolean": ({"flag": "yes"}, [("/flag", "wrong-type")]),
    "number for a boolean": ({"flag": 1}, [("/flag", "wrong-type")]),
    "number for text": ({"text": 1}, [("/text", "wrong-type")]),
    "below the minimum": ({"number_n": -5.01}, [("/number_n", "out-of-range")]),
    "at an open bound": ({"above_kg": 0}, [("/above_kg", "out-of-range")]),
    "above the maximum": ({"whole": 1001}, [("/whole", "out-of-range")]),
    "too long a text": ({"text": "x" * 21}, [("/text", "too-long")]),
    "too short a text": ({"text": ""}, [("/text", "wrong-format")]),
    "no key": ({"key": "-a"}, [("/key", "wrong-format")]),
    "unknown word": ({"choice": "singel"}, [("/choice", "out-of-range")]),
    "unknown field": ({"wholes_": []}, [("/wholes_", "unknown-field")]),
    "unknown field, deep": (
        {"items": [{"item": "a", "on_hand_count": 1, "extra": 1}]},
        [("/items/0/extra", "unknown-field")],
    ),
    "field that needs escaping": ({"a/b~c": 1}, [("/a~1b~0c", "unknown-field")]),
    "missing, deep": ({"items": [{"item": "a"}]}, [("/items/0/on_hand_count", "missing")]),
    "null is absent": ({"items": [{"item": "a", "on_hand_count": None}]},
                       [("/items/0/on_hand_count", "missing")]),
    "object for a list": ({"items": {}}, [("/items", "wrong-type")]),
    "list for an object": ({"part": []}, [("/part", "wrong-type")]),
    "too many": ({"values": [0, 0, 0, 0]}, [("/values", "too-many")]),
    "an id twice": (
        {"items": [{"item": "a", "on_hand_count": 1}] * 2},
        [("/items/1/item", "not-unique")],
    ),
    "text in a column": ({"column": [1, "2"]}, [("/column/1", "wrong-type")]),
    "boolean in a column": ({"column": [1, True]}, [("/column/1", "wrong-type")]),
    "null in a column": ({"column": [1, None]}, [("/column/1", "wrong-type")]),
    "beyond bounds in a column": ({"column": [1, 2, 101]}, [("/column/2", "out-of-range")]),
    "short row": ({"rows": [[1, 2, 3], [1, 2]]}, [("/rows/1", "wrong-type")]),
    "text in a row": ({"rows": [[1, 2, 3], [1, 2, "x"]]}, [("/rows/1/2", "wrong-type")]),
    "fraction in whole numbers": ({"wholes": [1, 1.5]}, [("/wholes/1", "wrong-type")]),
    "number among names": ({"names": ["a", 1]}, [("/names/1", "wrong-type")]),
    "no key in an object by key": ({"by_key": {"a b": 1}}, [("/by_key/a b", "wrong-format")]),
    "beyond bounds by key": ({"by_key": {"a": 2}}, [("/by_key/a", "out-of-range")]),
    "neither choice": ({"one_of": {}}, [("/one_of", "missing")]),
    "both choices": ({"one_of": {"box_mm": 1, "ball_mm": 1}}, [("/one_of", "not-unique")]),
    "bad choice": ({"one_of": {"box_mm": 0}}, [("/one_of/box_mm", "out-of-range")]),
    "several, sorted by place": (
        {"whole": -1, "column": [1, "2"], "above": 1, "values": [2] * 3},
        [
            ("/above", "unknown-field"),
            ("/column/1", "wrong-type"),
            ("/values/0", "out-of-range"),
            ("/values/1", "out-of-range"),
            ("/values/2", "out-of-range"),
            ("/whole", "out-of-range"),
        ],
    ),
}  # fmt: skip


@pytest.mark.parametrize(("body", "expected"), INVALID.values(), ids=INVALID.keys())
def test_faults_are_named_all_at_once(
    post: Callable[[str, Any], Any],
    assert_problem: Callable[..., dict[str, Any]],
    faults_of: Callable[[Any], list[tuple[str, str]]],
    body: Any,
    expected: list[tuple[str, str]],
) -> None:
    response = post("everything", body)
    assert_problem(response, 422, "invalid-input")
    assert faults_of(response) == expected


def test_the_nearest_known_name_is_offered(post: Callable[[str, Any], Any]) -> None:
    error = post("everything", {"numbr_n": 1}).get_json()["errors"][0]
    assert error["detail"] == "No such field. Did you mean number_n?"


def test_bounds_stand_beside_a_fault(post: Callable[[str, Any], Any]) -> None:
    error = post("everything", {"number_n": 9}).get_json()["errors"][0]
    assert (error["minimum"], error["maximum"]) == (-5, 5)


def test_no_more_than_a_hundred_faults_are_listed_but_all_are_counted(
    post: Callable[[str, Any], Any], assert_problem: Callable[..., dict[str, Any]]
) -> None:
    body = assert_problem(
        post("everything", {f"x{k}": 1 for k in range(250)}), 422, "invalid-input"
    )
    assert (body["errors_total"], len(body["errors"])) == (250, 100)


@pytest.mark.parametrize("whole", [211, 211.0, 2.11e2])
def test_a_whole_number_may_be_written_with_a_point(
    post: Callable[[str, Any], Any], whole: float
) -> None:
    assert post("everything", {"whole": whole}).status_code == 200


def test_null_is_absent(post: Callable[[str, Any], Any]) -> None:
    assert post("everything", {"whole": None}).get_json()["result"] == {"given_count": 0}


TYPES = ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "text/json", ""]


@pytest.mark.parametrize("content_type", TYPES)
def test_only_json_is_read(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]], content_type: str
) -> None:
    response = client.post(RUN, data=b'{"whole": 1}', content_type=content_type)
    assert_problem(response, 415, "unsupported-media-type")


def test_another_charset_is_refused(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    response = client.post(RUN, data=b"{}", content_type="application/json; charset=latin-1")
    assert_problem(response, 415, "unsupported-media-type")
    assert (
        client.post(RUN, data=b"{}", content_type="application/json; charset=UTF-8").status_code
        == 200
    )


def _packed(client: FlaskClient, content: bytes, coding: str = "gzip") -> Any:
    headers = {"Content-Encoding": coding}
    return client.post(RUN, data=content, content_type="application/json", headers=headers)


def test_a_gzipped_body_is_read(client: FlaskClient) -> None:
    assert _packed(client, gzip.compress(b'{"whole": 1}')).status_code == 200


def test_a_gzipped_body_is_held_to_the_limit_unpacked(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    bomb = gzip.compress(b" " * (64 * 1024 * 1024))
    body = assert_problem(_packed(client, bomb), 413, "body-too-large")
    assert body["limit"] == 4 * 1024 * 1024


@pytest.mark.parametrize(
    "content",
    [b"{}", gzip.compress(b"{}", mtime=0)[:-4], gzip.compress(b"{}", mtime=0) + b"x"],
    ids=["not packed", "cut short", "one byte too many"],
)
def test_broken_gzip_is_refused(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]], content: bytes
) -> None:
    assert_problem(_packed(client, content), 400, "malformed-encoding")


def test_other_encodings_are_refused(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    assert_problem(_packed(client, b"{}", "br"), 415, "unsupported-media-type")


def test_a_body_over_the_limit_is_refused(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    content = b'{"text": "' + b"x" * (4 * 1024 * 1024) + b'"}'
    response = client.post(RUN, data=content, content_type="application/json")
    assert_problem(response, 413, "body-too-large")


def test_32_deep_is_read() -> None:
    content = b'{"a":' * 32 + b"1" + b"}" * 32
    assert json.loads(content) == read_json(content)


def test_brackets_inside_texts_do_not_count() -> None:
    value = {"a": "[" * 100, 'b"': '\\"[[[', "c": [["]"] * 40] * 40}
    assert read_json(json.dumps(value).encode()) == value


@given(st.integers(1, 400), st.integers(-420, 420), st.booleans(), st.sampled_from("[ ,:"))
def test_a_number_is_refused_where_a_double_or_2_53_ends(
    digits: int, exponent: int, fraction: bool, before: str
) -> None:
    """However it is written: held against exact arithmetic."""
    text = "7" * digits + (".5" if fraction else "") + (f"e{exponent}" if exponent else "")
    exact = Fraction(text)
    whole = not fraction and not exponent
    too_large = exact > 2**53 - 1 if whole else exact >= LARGEST_ROUNDED
    body = {"[": f"[{text}]", " ": f'{{"a": {text}}}', ",": f"[1,{text}]", ":": f'{{"a":{text}}}'}
    if too_large:
        with pytest.raises(NotJson):
            read_json(body[before].encode())
    else:
        assert read_json(body[before].encode()) == json.loads(body[before])


def test_every_unfit_value_is_placed_at_once() -> None:
    """NaN, too large numbers and names that stand twice, all in one answer, in their order."""
    text = '{"b": [1, NaN, 1e999], "a": {"x": 1, "x": 2}, "n": 9007199254740993, "ok": 1}'
    with pytest.raises(NotJson) as refused:
        read_json(text.encode())
    assert [(pointer, fault.code) for pointer, fault in refused.value.faults] == [
        ("/a/x", "not-unique"),
        ("/b/1", "wrong-format"),
        ("/b/2", "out-of-range"),
        ("/n", "out-of-range"),
    ]
    assert refused.value.detail.startswith("4 faults. NaN is not")


JSON_VALUES = st.recursive(
    st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00")),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00")),
            inner,
            max_size=4,
        )
    ),
    max_leaves=20,
)


@given(JSON_VALUES)
def test_what_any_writer_writes_is_read_back(value: Any) -> None:
    """Escaped or not, a value without null comes back as it was."""
    assert read_json(json.dumps(value).encode()) == value
    assert read_json(json.dumps(value, ensure_ascii=False).encode()) == value


@given(st.binary(max_size=60))
def test_any_bytes_end_in_a_value_or_in_notjson(content: bytes) -> None:
    """Never in another exception."""
    try:
        json.loads(content)
    except (ValueError, RecursionError):
        with pytest.raises(NotJson):
            read_json(content)
    else:
        try:
            read_json(content)
        except NotJson as error:
            assert error.detail
