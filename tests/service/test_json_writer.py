"""What the writer of answers gives, held against the standard library's reader and writer."""

import json
import math
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright_service.json_writer import NotFinite, json_bytes, plain, read_back

NUMBERS = st.floats(allow_nan=False, allow_infinity=False) | st.integers()
VALUES = st.recursive(
    st.none()
    | st.booleans()
    | NUMBERS
    | st.just(-(2**64))
    | st.just(2**64)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner) | st.dictionaries(st.text("ab~/é"), inner),
    max_leaves=30,
)


@given(VALUES)
def test_what_is_written_is_read_back_to_the_last_digit(value: Any) -> None:
    content = json_bytes({"": value})
    assert content.endswith(b"\n") and content.count(b"\n") == 1
    assert repr(json.loads(content)) == repr({"": value})
    assert repr(read_back(content)) == repr({"": value})


def test_arrays_and_mappings() -> None:
    table = np.arange(6.0).reshape(2, 3) / 7
    value = {
        "across": table.T,
        "counts": np.arange(3),
        "marks": np.array([True, False]),
        "names": np.array(["a", "bc"]),
        "one": np.float64(1 / 3),
        "whole": np.int64(3),
        "whether": np.bool_(True),
        "inside": MappingProxyType({"pair": (1, 2.5)}),
        7: "a key that is no text",
    }
    assert plain(value) == {
        "across": table.T.tolist(),
        "counts": [0, 1, 2],
        "marks": [True, False],
        "names": ["a", "bc"],
        "one": 1 / 3,
        "whole": 3,
        "whether": True,
        "inside": {"pair": [1, 2.5]},
        "7": "a key that is no text",
    }


@pytest.mark.parametrize("holder", [float, np.float64, lambda bad: np.array([1.0, bad])])
@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_refused_with_its_place(holder: Any, bad: float) -> None:
    with pytest.raises(NotFinite) as caught:
        json_bytes({"fine": None, "a": [{"b/c": holder(bad)}]})
    assert caught.value.pointer.startswith("/a/0/b~1c")
    assert caught.value.missing == math.isnan(bad)


def test_null_may_stand_where_nothing_is_missing() -> None:
    assert json_bytes({"a": None, "b": "null"}) == b'{"a":null,"b":"null"}\n'


def test_what_json_cannot_say_is_refused() -> None:
    with pytest.raises(TypeError):
        json_bytes({"a": object()})
