"""Each kind of requirement: the distance it asks for, and in words."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from .schemas import KINDS

Requirement = Mapping[str, Any]


@dataclass(frozen=True)
class Distance:
    """How far the level above lies over the one below, in mm; None: no limit on that side."""

    least_mm: float | None
    most_mm: float | None


def kind_of(requirement: Requirement) -> str:
    """Which of the kinds a requirement is."""
    return next(kind for kind in KINDS if kind in requirement)


def distance_of(requirement: Requirement, module_mm: float) -> Distance:
    """The range a requirement allows.

    >>> distance_of({"run": {"length_mm": 24000, "slope_min_percent": 4}}, 60)
    Distance(least_mm=960.0, most_mm=None)
    """
    kind = kind_of(requirement)
    given = requirement[kind]
    if kind == "run":
        return _run(given)
    if kind == "ball_clearance":
        total = given["ball_diameter_mm"] + given["margin_mm"] + given["thickness_mm"]
        return Distance(total, None)
    if kind == "door":
        less = ("clearance_mm", "trolley_mm", "lifted_mm", "threshold_mm")
        return Distance(None, given["door_height_mm"] - sum(given[key] for key in less))
    if kind == "equal":
        return Distance(given["difference_mm"], given["difference_mm"])
    if kind == "module_step":
        total = given["modules_count"] * module_mm
        rule = given["rule"]
        return Distance(total if rule != "at-most" else None, total if rule != "at-least" else None)
    low, high = ENDS[kind]
    return Distance(given.get(low), given.get(high))


ENDS = {
    "hook_reach": ("reach_min_mm", "reach_max_mm"),
    "drop_limit": ("drop_min_mm", "drop_max_mm"),
    "lift": ("rise_min_mm", "rise_max_mm"),
    "gap": ("gap_min_mm", "gap_max_mm"),
}


def _run(given: Mapping[str, Any]) -> Distance:
    def fall(end: str) -> float | None:
        slope = given.get(f"slope_{end}_percent")
        if slope is None:
            value: float | None = given.get(f"fall_{end}_mm")
            return value
        return float(slope * given["length_mm"] / 100)

    return Distance(fall("min"), fall("max"))


def title_of(item: Mapping[str, Any]) -> str:
    """What the builder calls a level or requirement; its id where there is no title."""
    return str(item.get("title", item["id"]))


def number(value: float) -> str:
    """A number as a builder reads it: no more than three decimals, no needless zeros."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def millimetres(value: float) -> str:
    """A length for reading."""
    return f"{number(value)} mm"


def asked_words(requirement: Requirement, module_mm: float, lower: bool) -> str:
    """What one end of a requirement asks, after the title: "at least 960 mm (4 % of 24000 mm)"."""
    kind, distance = kind_of(requirement), distance_of(requirement, module_mm)
    given = requirement[kind]
    value = distance.least_mm if lower else distance.most_mm
    word = "at least" if lower else "at most"
    if kind == "equal":
        word = "exactly"
    text = f"{word} {millimetres(value or 0.0)}"
    slope = given.get("slope_min_percent" if lower else "slope_max_percent")
    if kind == "run" and slope is not None:
        return f"{text} of fall: {number(slope)} % of {millimetres(given['length_mm'])}"
    if kind == "module_step":
        return f"{text}: {given['modules_count']} × {millimetres(module_mm)}"
    if kind == "ball_clearance":
        parts = [f"ball {number(given['ball_diameter_mm'])}"]
        parts += [f"margin {number(given['margin_mm'])}"] if given["margin_mm"] else []
        parts += [f"between {number(given['thickness_mm'])}"] if given["thickness_mm"] else []
        return f"{text}: {' + '.join(parts)}"
    if kind == "door":
        parts = [f"door {number(given['door_height_mm'])}"]
        names = ("clearance", "trolley", "lifted", "threshold")
        parts += [f"{name} {number(given[f'{name}_mm'])}" for name in names if given[f"{name}_mm"]]
        return f"{text}: {' - '.join(parts)}"
    return text
