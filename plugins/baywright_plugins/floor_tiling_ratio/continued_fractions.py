"""Whole-number ratios near a value: continued fractions and the Stern-Brocot tree, exactly.

Everything works on `Fraction`, so nothing is ever nearly equal. Source of the theory: Khinchin,
Continued Fractions (1964), sections 5 and 6; Graham, Knuth, Patashnik, Concrete Mathematics,
section 4.5 (both from memory; tests hold each function against brute force).
"""

import functools
import math
from collections.abc import Iterator
from fractions import Fraction


def exact(number: float) -> Fraction:
    """The decimal a person typed, as a fraction: 51.4 is 257/5 and not its binary neighbour.

    Args:
        number: finite, any unit; the unit stays.

    Raises:
        ValueError: infinity or NaN.

    >>> exact(51.4)
    Fraction(257, 5)
    """
    return Fraction(repr(number))


def quotients(value: Fraction) -> tuple[int, ...]:
    """Partial quotients a0; a1, a2, ... of `value`, the last above 1 (but for whole numbers).

    >>> quotients(Fraction(600, 257))
    (2, 2, 1, 85)
    """
    found = []
    top, bottom = value.numerator, value.denominator
    while bottom:
        whole, rest = divmod(top, bottom)
        found.append(whole)
        top, bottom = bottom, rest
    return tuple(found)


def convergents(
    value: Fraction, *, terms: int | None = None, most_denominator: int | None = None
) -> tuple[Fraction, ...]:
    """What the continued fraction of `value` gives when cut after 1, 2, ... quotients.

    Args:
        value: any fraction, 1.
        terms: at most so many; None for all.
        most_denominator: stop before a denominator above this; None for no cap.

    >>> [str(c) for c in convergents(exact(3.175))]
    ['3', '16/5', '19/6', '54/17', '127/40']
    """
    found = []
    top, bottom, top_before, bottom_before = 1, 0, 0, 1
    for whole in quotients(value)[:terms]:
        top, top_before = whole * top + top_before, top
        bottom, bottom_before = whole * bottom + bottom_before, bottom
        if most_denominator is not None and bottom > most_denominator:
            break
        found.append(Fraction(top, bottom))
    return tuple(found)


def best_approximations(value: Fraction, most_denominator: int) -> tuple[Fraction, ...]:
    """Best approximations of the first kind: each closer than any with no larger denominator.

    They are the convergents and some of the semiconvergents between them. Two whole numbers
    equally near (x.5) leave the smaller one as the first entry.

    Args:
        value: any fraction, 1.
        most_denominator: at least 1; included.

    Returns:
        Ascending by denominator; the last is the best ratio under the cap.

    Raises:
        ValueError: the cap is below 1.

    >>> [str(a) for a in best_approximations(exact(3.141592653589793), 7)]
    ['3', '13/4', '16/5', '19/6', '22/7']
    """
    if most_denominator < 1:
        raise ValueError("the largest denominator must be at least 1")
    found: list[Fraction] = []
    for candidate in _intermediate(value, most_denominator):
        if found and abs(candidate - value) >= abs(found[-1] - value):
            continue
        if found and candidate.denominator == found[-1].denominator:
            found.pop()
        found.append(candidate)
    return tuple(found)


def _intermediate(value: Fraction, most_denominator: int) -> Iterator[Fraction]:
    """Convergents, and semiconvergents from the middle of each step, ascending."""
    whole, *rest = quotients(value)
    top_before, bottom_before, top, bottom = 1, 0, whole, 1
    yield Fraction(whole)
    for quotient in rest:
        for steps in range(max(1, quotient // 2), quotient + 1):
            denominator = bottom_before + steps * bottom
            if denominator > most_denominator:
                return
            yield Fraction(top_before + steps * top, denominator)
        top_before, top = top, top_before + quotient * top
        bottom_before, bottom = bottom, bottom_before + quotient * bottom


def best_ratio(value: Fraction, most_denominator: int) -> Fraction:
    """The fraction nearest to `value` with a denominator of at most `most_denominator`.

    Of two equally near ones the smaller denominator is taken.

    Raises:
        ValueError: the cap is below 1.

    >>> str(best_ratio(exact(3.141592653589793), 1000))
    '355/113'
    """
    return best_approximations(value, most_denominator)[-1]


def simplest_between(low: Fraction, high: Fraction) -> Fraction:
    """The fraction in [low, high] with the smallest denominator (and numerator): the first one
    the Stern-Brocot tree meets.

    Args:
        low: above 0.
        high: not below `low`; both ends belong to the interval.

    Raises:
        ValueError: the interval is empty or not positive.

    >>> str(simplest_between(Fraction(233, 100), Fraction(234, 100)))
    '7/3'
    """
    if not 0 < low <= high:
        raise ValueError("needs 0 < low <= high")
    wholes: list[int] = []
    while math.ceil(low) > high:
        whole = math.floor(low)
        wholes.append(whole)
        low, high = 1 / (high - whole), 1 / (low - whole)
    found = Fraction(math.ceil(low))
    for whole in reversed(wholes):
        found = whole + 1 / found
    return found


def stern_brocot_path(fraction: Fraction, *, longest: int = 2000) -> str:
    """The way from 1/1 down to `fraction`: L to smaller, R to larger.

    Raises:
        ValueError: the fraction is not positive, or the way is longer than `longest`.

    >>> stern_brocot_path(Fraction(5, 7))
    'LRRL'
    """
    if fraction <= 0:
        raise ValueError("the tree holds positive fractions only")
    *first, last = quotients(fraction)
    runs = [*first, last - 1]
    if sum(runs) > longest:
        raise ValueError(f"the way is {sum(runs)} steps long")
    return "".join("RL"[k % 2] * run for k, run in enumerate(runs))


@functools.cache
def farey_length(order: int) -> int:
    """How many fractions in lowest terms lie in [0, 1] with denominators up to `order`.

    So a search over `order` repeats looks at farey_length(order) - 1 different ratios for each
    whole step of the value. Source: OEIS A005728.

    Raises:
        ValueError: order below 1.

    >>> farey_length(8)
    23
    """
    if order < 1:
        raise ValueError("the order must be at least 1")
    totients = list(range(order + 1))
    for prime in range(2, order + 1):
        if totients[prime] == prime:
            for multiple in range(prime, order + 1, prime):
                totients[multiple] -= totients[multiple] // prime
    return 1 + sum(totients[1:])


def error_ppm(candidate: Fraction, value: Fraction) -> float:
    """How far `candidate` is above `value`, in millionths of `value`.

    Raises:
        ValueError: value is 0.

    >>> round(error_ppm(Fraction(16, 5), exact(3.175)), 3)
    7874.016
    """
    if not value:
        raise ValueError("no relative error against 0")
    return float((candidate / value - 1) * 1_000_000)
