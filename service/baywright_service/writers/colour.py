"""Colours of inks as numbers."""

import re
from functools import lru_cache

DARK = (0x1F, 0x29, 0x33)


@lru_cache(maxsize=256)
def rgb(text: str) -> tuple[int, int, int]:
    """A colour as red, green and blue from 0 to 255; what is no `#rgb` or `#rrggbb` is dark.

    >>> rgb("#1f2933"), rgb("#fff"), rgb("unheard-of")
    ((31, 41, 51), (255, 255, 255), (31, 41, 51))
    """
    if not re.fullmatch(r"#(?:[0-9a-fA-F]{3}|[0-9a-fA-F]{6})", text):
        return DARK
    digits = text[1:] if len(text) == 7 else "".join(digit * 2 for digit in text[1:])
    red, green, blue = (int(digits[k : k + 2], 16) for k in (0, 2, 4))
    return red, green, blue


def share(text: str) -> tuple[float, float, float]:
    """A colour as shares of one, as PDF counts."""
    red, green, blue = rgb(text)
    return red / 255, green / 255, blue / 255
