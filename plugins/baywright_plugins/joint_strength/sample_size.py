"""What more tests would bring."""

from .fractile import FEWEST_TESTS, factor

STEPS = (3, 4, 5, 6, 8, 10, 12, 15, 20, 30, 50, 100)
MOST_TESTS = 1000


def next_steps(n: int, *, most: int = 4) -> list[int]:
    """The next usual sample sizes above `n`.

    Source: the sizes that tables of factors list; common practice.

    >>> next_steps(12)
    [15, 20, 30, 50]
    """
    return [step for step in STEPS if step > n][:most]


def count_for_factor(method: str, wanted: float, fraction: float = 0.05) -> int | None:
    """Fewest tests whose factor is `wanted` or less; None where more than 1000 would be needed.

    Source: factors fall as n grows, so halving the range finds the first.

    >>> count_for_factor("tolerance-75", 2.0)
    15
    """
    if factor(method, MOST_TESTS, fraction) > wanted:
        return None
    low, high = FEWEST_TESTS - 1, MOST_TESTS
    while high - low > 1:
        middle = (low + high) // 2
        if middle < FEWEST_TESTS or factor(method, middle, fraction) > wanted:
            low = middle
        else:
            high = middle
    return high
