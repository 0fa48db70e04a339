"""Numbers in sentences: so many digits as matter, and no exponent a builder would have to read."""


def figures(value: float, digits: int = 3) -> str:
    """`value` to `digits` significant digits; large ones whole, their last digits as zeros.

    >>> figures(9525.1), figures(12.345), figures(103412.2, 4), figures(0.02)
    ('9530', '12.3', '103400', '0.02')
    """
    rounded = float(f"{value:.{digits}g}")
    return f"{rounded:.0f}" if 10**digits <= abs(rounded) < 1e12 else f"{value:.{digits}g}"
