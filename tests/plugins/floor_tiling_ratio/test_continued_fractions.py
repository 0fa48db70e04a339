"""Ratios against published values and against brute force."""

import json
import math
from decimal import Decimal, getcontext
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.floor_tiling_ratio.common_repeats import nearest_counts
from baywright_plugins.floor_tiling_ratio.continued_fractions import (
    best_approximations,
    best_ratio,
    convergents,
    error_ppm,
    exact,
    farey_length,
    quotients,
    simplest_between,
    stern_brocot_path,
)

getcontext().prec = 60
PUBLISHED = json.loads(
    (Path(__file__).parents[2] / "data" / "published" / "ratios.json").read_text("utf-8")
)
PI = Decimal("3.14159265358979323846264338327950288419716939937510582")
IRRATIONAL = {
    "pi": PI,
    "sqrt(2)": Decimal(2).sqrt(),
    "sqrt(3)/2": Decimal(3).sqrt() / 2,
    "(1+sqrt(5))/2": (1 + Decimal(5).sqrt()) / 2,
    "log2(3/2)": Decimal("1.5").ln() / Decimal(2).ln(),
    "log2(5/4)": Decimal("1.25").ln() / Decimal(2).ln(),
}
FRACTIONS = st.fractions(min_value=Fraction(1, 50), max_value=50, max_denominator=3000)


def value(text: str) -> Fraction:
    """A published value, exact or to 55 digits."""
    if text in IRRATIONAL:
        return Fraction(IRRATIONAL[text])
    top, _, bottom = text.partition("/")
    return Fraction(top) / Fraction(bottom or "1")


def entries(quantity: str) -> pytest.MarkDecorator:
    cases = [case for case in PUBLISHED if case["quantity"] == quantity]
    assert cases
    return pytest.mark.parametrize("case", cases, ids=[case["id"] for case in cases])


def pairs(found: Any) -> list[list[int]]:
    return [[fraction.numerator, fraction.denominator] for fraction in found]


@entries("best_ratio_max_denominator")
def test_best_ratio_under_a_cap(case: dict[str, Any]) -> None:
    """The source stands beside each value in ratios.json."""
    found = best_ratio(value(case["inputs"]["value"]), case["inputs"]["max_denominator"])
    assert pairs([found]) == [case["expected"]]


@entries("best_approximations_first_kind")
def test_best_approximations(case: dict[str, Any]) -> None:
    """The source stands beside each value in ratios.json; 3/4 near sqrt(3)/2 is often missed."""
    found = best_approximations(value(case["inputs"]["value"]), case["inputs"]["max_denominator"])
    assert pairs(found) == case["expected"]


@entries("convergents")
def test_convergents(case: dict[str, Any]) -> None:
    """The source stands beside each value in ratios.json."""
    given_value = value(case["inputs"]["value"])
    found = convergents(
        given_value,
        terms=case["inputs"].get("terms"),
        most_denominator=case["inputs"].get("max_denominator"),
    )
    assert pairs(found) == case["expected"]


@entries("ratio_error_ppm")
def test_error_in_parts_per_million(case: dict[str, Any]) -> None:
    """The source stands beside each value in ratios.json."""
    target = value(case["inputs"]["value"])
    found = [error_ppm(Fraction(*pair), target) for pair in case["inputs"]["candidates"]]
    assert found == pytest.approx(case["expected"], abs=case["tolerance"]["abs"])
    assert pairs(convergents(target)) == case["inputs"]["candidates"]


@entries("exact_ratio")
def test_typed_decimals_are_exact(case: dict[str, Any]) -> None:
    """An inch is 127/5 mm, not the binary number next to 25.4."""
    assert pairs([exact(float(case["inputs"]["value"]))]) == [case["expected"]]


@entries("farey_length")
def test_farey_length(case: dict[str, Any]) -> None:
    """OEIS A005728."""
    assert farey_length(case["inputs"]["order"]) == case["expected"]


@entries("stern_brocot_path")
def test_stern_brocot_path(case: dict[str, Any]) -> None:
    """Concrete Mathematics, section 4.5."""
    assert stern_brocot_path(Fraction(*case["inputs"]["fraction"])) == case["expected"]


@entries("simultaneous_common_division")
def test_one_division_for_fifth_and_third(case: dict[str, Any]) -> None:
    """Equal temperaments: 1200 cents are one octave; errors in cents."""
    targets = [value(text) for text in case["inputs"]["targets"]]
    fifth, third = nearest_counts(targets, case["inputs"]["divisions"])
    expected, close = case["expected"], case["tolerance"]["abs"]
    assert (fifth.count, third.count) == (expected["fifth_steps"], expected["third_steps"])
    assert float(1200 * fifth.error) == pytest.approx(expected["fifth_error_cents"], abs=close)
    assert float(1200 * third.error) == pytest.approx(expected["third_error_cents"], abs=close)


@settings(deadline=None)
@given(FRACTIONS, st.integers(1, 60))
def test_best_approximations_are_all_and_only_the_best(target: Fraction, cap: int) -> None:
    """Brute force: walk all denominators, keep what is strictly closer than all before."""
    kept: list[Fraction] = []
    for bottom in range(1, cap + 1):
        low = Fraction(math.floor(target * bottom), bottom)
        for candidate in (low, low + Fraction(1, bottom)):
            if not kept or abs(candidate - target) < abs(kept[-1] - target):
                if kept and kept[-1].denominator == candidate.denominator:
                    kept.pop()
                kept.append(candidate)
    assert list(best_approximations(target, cap)) == kept


@settings(deadline=None)
@given(FRACTIONS, st.integers(1, 500))
def test_best_ratio_is_as_near_as_the_standard_librarys(target: Fraction, cap: int) -> None:
    """Python's Fraction.limit_denominator, an independent program."""
    ours, theirs = best_ratio(target, cap), target.limit_denominator(cap)
    assert abs(ours - target) == abs(theirs - target)
    assert ours.denominator <= theirs.denominator


@pytest.mark.slow
@settings(deadline=None)
@given(FRACTIONS, FRACTIONS)
def test_simplest_between_has_the_smallest_denominator(one: Fraction, other: Fraction) -> None:
    """Brute force over denominators."""
    low, high = min(one, other), max(one, other)
    bottom = next(b for b in range(1, 3001) if math.ceil(low * b) <= math.floor(high * b))
    assert simplest_between(low, high) == Fraction(math.ceil(low * bottom), bottom)


@settings(deadline=None)
@given(FRACTIONS)
def test_path_leads_to_the_fraction(target: Fraction) -> None:
    """Walk the tree by mediants."""
    left, right = (0, 1), (1, 0)
    for step in stern_brocot_path(target, longest=10_000):
        middle = (left[0] + right[0], left[1] + right[1])
        left, right = (middle, right) if step == "R" else (left, middle)
    assert Fraction(left[0] + right[0], left[1] + right[1]) == target


@settings(deadline=None)
@given(FRACTIONS)
def test_last_convergent_is_the_value(target: Fraction) -> None:
    """A continued fraction of a ratio ends, and ends there."""
    assert convergents(target)[-1] == target
    assert len(convergents(target)) == len(quotients(target))


@settings(deadline=None)
@given(st.integers(1, 40))
def test_farey_length_counts_the_fractions(order: int) -> None:
    """Count them."""
    counted = {Fraction(top, b) for b in range(1, order + 1) for top in range(b + 1)}
    assert farey_length(order) == len(counted)


@pytest.mark.parametrize(
    "call",
    [
        lambda: best_ratio(Fraction(1, 3), 0),
        lambda: simplest_between(Fraction(2), Fraction(1)),
        lambda: stern_brocot_path(Fraction(0)),
        lambda: stern_brocot_path(Fraction(5000)),
        lambda: farey_length(0),
        lambda: error_ppm(Fraction(1), Fraction(0)),
        lambda: exact(math.nan),
    ],
)
def test_nonsense_is_refused(call: Any) -> None:
    """No number where there is none."""
    with pytest.raises(ValueError):
        call()
