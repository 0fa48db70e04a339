"""Numbers and shares for reading."""

from collections.abc import Mapping
from typing import Any


def mm(value: float) -> str:
    """Whole millimetres; one decimal below ten."""
    return f"{value:.1f} mm" if abs(value) < 9.95 else f"{value:.0f} mm"


def speed(value: float) -> str:
    """Metres a second, two decimals."""
    return f"{value:.2f} m/s"


def span(low: float, high: float, unit: str, digits: int = 2) -> str:
    """A range, or one number where both ends read alike."""
    first, last = f"{low:.{digits}f}", f"{high:.{digits}f}"
    return f"{first} {unit}" if first == last else f"{first} to {last} {unit}"


def slope(value: float) -> str:
    """Percent, one decimal; two below one percent."""
    return f"{value:.2f} %" if abs(value) < 1 else f"{value:.1f} %"


def who(share: str) -> str:
    """Which balls, at the start of a sentence."""
    return "Every ball" if share == "always" else "The slowest ball"


def stopped(segment: Mapping[str, Any]) -> str:
    """Which balls stop on a segment: all of those that get there, or the slowest."""
    return "Every ball" if segment["passed"] == "never" else "The slowest ball"
