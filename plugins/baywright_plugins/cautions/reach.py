"""Handles, buttons and windows that everybody should reach."""

from baywright_service.contract import Caution, Source

REACH_LOW_MM, REACH_HIGH_MM = 15 * 25.4, 48 * 25.4

REACH = Source("2010 ADA Standards for Accessible Design, 308.2.1, unobstructed forward reach")


def within_reach(height_mm: float) -> bool:
    """Whether a control can be reached from a wheelchair. Source: 2010 ADA Standards, 308.2.1."""
    return REACH_LOW_MM - 1e-9 <= height_mm <= REACH_HIGH_MM + 1e-9


def reach_cautions(height_mm: float, what: str = "a control") -> tuple[Caution, ...]:
    """A word on a control that not everybody reaches; none where all do."""
    if within_reach(height_mm):
        return ()
    text = (
        f"Visitors who sit reach from {REACH_LOW_MM:.0f} to {REACH_HIGH_MM:.0f} mm; {what} at "
        f"{height_mm:.0f} mm is out of it."
    )
    return (Caution(text, REACH),)
