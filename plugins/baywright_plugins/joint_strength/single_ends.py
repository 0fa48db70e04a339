"""From one tested end to a rod with two."""

ROD_FRACTION = 0.05


def end_fraction(rod_fraction: float = ROD_FRACTION, *, ends_count: int = 2) -> float:
    """Fraction of single ends whose strength is the rod's `rod_fraction` value.

        1 - (1 - p)^(1/ends)

    A rod is as strong as the weaker of its ends, so fewer ends may be weaker than the value that
    5 % of rods may miss.

    Leaves out: ends of one rod that are alike (a thin rod is loose in both seats); with those the
    true fraction lies between this one and p, so this one is on the safe side.
    Source: distribution of the smallest of independent values; any text on order statistics.

    >>> round(100 * end_fraction(), 2)
    2.53
    """
    return float(1.0 - (1.0 - rod_fraction) ** (1.0 / ends_count))
