"""Names, numbers and tables as people read them."""

import doctest
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright_client import labels, outputs, pointers, units
from baywright_client.labels import Fact, facts, measure_text, number_text
from baywright_client.tables import columns_of, text_table


@pytest.mark.parametrize("module", [labels, outputs, pointers, units], ids=lambda m: m.__name__)
def test_examples_in_docstrings_run(module: Any) -> None:
    done = doctest.testmod(module)
    assert done.attempted > 0 and not done.failed


@given(st.floats(min_value=-1e8, max_value=1e8))
def test_a_shortened_number_is_right_to_three_places(number: float) -> None:
    assert float(number_text(number)) == pytest.approx(number, rel=1e-3)


@pytest.mark.parametrize(
    ("measure", "text"),
    [
        ({"value": 754, "limit": 729, "unit": "mm"}, "754 mm, limit 729 mm"),
        ({"value": 18.0, "limit": 60, "unit": "/min"}, "18 per min, limit 60 per min"),
        ({"value": 31.25, "unit": "deg"}, "31.25°"),
        ({"value": 0.84, "limit": 1.65, "unit": "1"}, "0.84, limit 1.65"),
        ({"value": 83, "unit": "1"}, ""),
        (None, ""),
        ({"value": "many"}, ""),
    ],
)
def test_a_measure_stands_beside_its_limit(measure: Any, text: str) -> None:
    assert measure_text(measure) == text


def test_facts_are_the_single_values_with_their_units() -> None:
    result = {
        "width_mm": 754.0,
        "outside_mm": {"x": 3814, "word": "long"},
        "chain": {"links_count": 280, "deep": {"unseen": 1}},
        "list": [[1, 2], [3, 4]],
        "fits": True,
    }
    assert facts(result) == [
        Fact("", "width", "754 mm"),
        Fact("", "fits", "yes"),
        Fact("outside", "x", "3814 mm"),
        Fact("outside", "word", "long"),
        Fact("chain", "links", "280"),
    ]


def test_a_table_keeps_numbers_whole_and_wraps_words() -> None:
    lines = text_table(
        ["item", "what it is"], [["R120", "a rod of beech with a long story"]], width=24
    )
    assert lines == [
        "item  what it is",
        "----  ------------------",
        "R120  a rod of beech",
        "      with a long story",
    ]


def test_columns_that_do_not_fit_are_named() -> None:
    lines = text_table(["a" * 10, "b" * 10, "c" * 10], [["1", "2", "3"]], width=24)
    assert lines[-1].endswith(f"shows also: {'c' * 10}") or "c" * 10 in " ".join(lines[3:])
    assert all(columns_of(line) <= 24 for line in lines[:3])


@given(
    st.lists(st.lists(st.text(max_size=12), min_size=3, max_size=3), max_size=5),
    st.integers(20, 120),
)
def test_any_table_can_be_set(rows: list[list[str]], width: int) -> None:
    assert len(text_table(["one", "two", "three"], rows, width=width)) >= 2
