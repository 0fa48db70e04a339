"""Closed systems of difference constraints: v_j - v_i >= c, whole numbers.

Row i, column j of a system holds the largest c that follows. Variable 0 is the wall at 0. Systems
are never changed: adding gives a new one that shares untouched rows, so a search may go back.

Source: R. Bellman, On a routing problem, Quarterly of Applied Mathematics 16 (1958); Cormen,
Leiserson, Rivest, Stein, Introduction to Algorithms, section "difference constraints and shortest
paths"; the update of a closed matrix by one arc is the last step of Floyd's algorithm.
"""

Bounds = list[list[int]]


def wall() -> Bounds:
    """A system of the wall alone.

    >>> wall()
    [[0]]
    """
    return [[0]]


def with_variable(bounds: Bounds, least: int, most: int) -> Bounds:
    """The system with one more variable, between `least` and `most` (least <= most).

    >>> with_variable(wall(), 2, 5)
    [[0, 2], [-5, 0]]
    """
    grown = [[*row, row[0] + least] for row in bounds]
    grown.append([*(value - most for value in bounds[0]), 0])
    return grown


def with_bound(bounds: Bounds, i: int, j: int, c: int) -> Bounds | None:
    """The closed system with v_j - v_i >= c added; None where no values satisfy it any more.

    >>> two = with_variable(with_variable(wall(), 0, 9), 0, 9)
    >>> with_bound(two, 1, 2, 4)
    [[0, 0, 4], [-5, 0, 4], [-9, -9, 0]]
    >>> with_bound(two, 1, 2, 10) is None
    True
    """
    if bounds[i][j] >= c:
        return bounds
    tail = bounds[j]
    if tail[i] + c > 0:
        return None
    closed = []
    for row in bounds:
        reach = row[i] + c
        if reach > row[j]:
            row = [
                old if old >= reach + step else reach + step
                for old, step in zip(row, tail, strict=True)
            ]
        closed.append(row)
    return closed
