"""Plain words for places and parts."""

import math
from collections.abc import Mapping
from typing import Any

PLACES = {
    "hub": "on a hub",
    "rod-along": "on the middle of a rod along",
    "rod-across": "on the middle of a rod across",
    "between-rods": "on the deck between rods",
}
BUILT = {"on-edge": "as flat trusses on edge", "flat": "as a flat grid"}
TURNED = {"on-edge": "flat", "flat": "on-edge"}


def mm(value: float) -> str:
    """Millimetres for reading, one decimal at most.

    >>> mm(120.04), mm(7.26)
    ('120 mm', '7.3 mm')
    """
    return f"{value:.1f}".removesuffix(".0") + " mm"


def newton(value: float) -> str:
    """Newtons for reading: three figures."""
    return f"{value:.3g} N" if value < 1000 else f"{value:,.0f} N"


def share(value: float) -> str:
    """A share of strength for reading.

    >>> share(0.734), share(25.2)
    ('73 %', '25 times')
    """
    return f"{value:.0%}".replace("%", " %") if value < 10 else f"{value:.0f} times"


def percent(value: float) -> str:
    """A probability for reading: as many digits as it has, rounded down, four at most.

    >>> percent(0.95), percent(0.90067)
    ('95 %', '90.06 %')
    """
    return f"{math.floor(value * 1e4 + 1e-6) / 100:.2f}".rstrip("0").rstrip(".") + " %"


def count(number: int, thing: str) -> str:
    """A number of things: "1 drop", "46 drops"."""
    return f"{number} {thing}" + ("" if number == 1 else "s")


def where(hit: Mapping[str, Any]) -> str:
    """A landing place in words."""
    at = f"{hit['along_mm']:g} mm along, {hit['across_mm']:g} mm across"
    return f"{PLACES[hit['over']]} ({at})"


def part(check: str, role: str) -> str:
    """What gives first, in words: "seat of a post, pulled"."""
    thing, _, how = check.partition(" ")
    article = "an" if role[0] in "aeiou" else "a"
    return f"seat of {article} {role}, {how}" if thing == "seat" else f"{role}, {how}"
