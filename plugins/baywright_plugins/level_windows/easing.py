"""How a requirement can give some millimetres: which of its numbers to change, and in words."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Any

from .kinds import ENDS, Requirement, kind_of, millimetres, number, title_of


@dataclass(frozen=True)
class Easing:
    """A requirement changed so that it gives enough: which field, from, to, and in words."""

    field: str
    before: float
    after: float
    message: str

    def applied(self, requirement: Mapping[str, Any]) -> dict[str, Any]:
        """A copy of a requirement as posted, with the change."""
        kind, field = self.field.split("/")
        return {**requirement, kind: {**requirement[kind], field: self.after}}


def easings(
    requirement: Requirement, give_mm: float, lower: bool, module_mm: float
) -> Iterator[Easing]:
    """Ways in which a requirement can give that many millimetres at one end; may be none.

    Never the ball, the door, its clearance or what ties two levels together.
    """
    kind = kind_of(requirement)
    given, title = requirement[kind], title_of(requirement)
    if kind == "run" and "length_mm" in given and not {"fall_min_mm", "fall_max_mm"} & set(given):
        yield from _slope(given, title, give_mm, lower)
    elif kind == "run":
        key = "fall_min_mm" if lower else "fall_max_mm"
        yield from _moved(kind, key, given, title, give_mm, lower, least=0.0)
    elif kind in ENDS:
        least = None if kind == "gap" else 0.0
        yield from _moved(kind, ENDS[kind][not lower], given, title, give_mm, lower, least=least)
    elif kind == "ball_clearance":
        for key in ("margin_mm", "thickness_mm"):
            yield from _moved(kind, key, given, title, give_mm, True, least=0.0)
    elif kind == "door":
        for key in ("trolley_mm", "lifted_mm"):
            yield from _moved(kind, key, given, title, give_mm, True, least=0.0)
    elif kind == "module_step" and given["rule"] != "exactly":
        yield from _fewer_steps(given, title, give_mm, lower, module_mm)


def _fewer_steps(
    given: Mapping[str, Any], title: str, give_mm: float, lower: bool, module_mm: float
) -> Iterator[Easing]:
    before = given["modules_count"]
    steps = math.ceil(give_mm / module_mm)
    after = before - steps if lower else before + steps
    if 0 <= after <= 10_000:
        word = "at least" if lower else "at most"
        message = f"Ask for {word} {after} modules instead of {before} for “{title}”."
        yield Easing("module_step/modules_count", before, after, message)


_WORDS = {
    "fall_min_mm": ("Let {title} fall {after} instead of {before}.", ""),
    "fall_max_mm": ("Let {title} fall up to {after} instead of {before}.", ""),
    "reach_min_mm": ("Let {title} reach from {after} instead of {before}.", ""),
    "reach_max_mm": ("Let {title} reach up to {after} instead of {before}.", ""),
    "drop_min_mm": ("Let {title} drop {after} instead of {before}.", ""),
    "drop_max_mm": ("Let {title} drop up to {after} instead of {before}.", ""),
    "rise_min_mm": ("Let {title} rise {after} instead of {before}.", ""),
    "rise_max_mm": ("Let {title} rise up to {after} instead of {before}.", ""),
    "gap_min_mm": ("Leave {after} instead of {before} for {title}.", ""),
    "gap_max_mm": ("Allow {after} instead of {before} for {title}.", ""),
    "margin_mm": (
        "Leave {after} instead of {before} above the ball of {title}.",
        "Leave no room above the ball of {title}.",
    ),
    "thickness_mm": (
        "Lower what stands between the levels of {title} from {before} to {after}.",
        "Take out what stands between the levels of {title}.",
    ),
    "trolley_mm": (
        "Take a trolley of {after} instead of {before} for {title}.",
        "Leave the trolley off for {title}.",
    ),
    "lifted_mm": (
        "Lift it {after} instead of {before} for {title}.",
        "Do not lift it for {title}.",
    ),
}


def _moved(
    kind: str,
    key: str,
    given: Mapping[str, Any],
    title: str,
    give_mm: float,
    lower: bool,
    *,
    least: float | None,
) -> Iterator[Easing]:
    before = given.get(key)
    if before is None:
        return
    after = round(before - give_mm if lower else before + give_mm, 6)
    if least is not None and after < least or abs(after) > 100_000:
        return
    some, none = _WORDS[key]
    words = none if none and after == 0 else some
    message = words.format(title=f"“{title}”", before=millimetres(before), after=millimetres(after))
    yield Easing(f"{kind}/{key}", before, after, message)


def _slope(given: Mapping[str, Any], title: str, give_mm: float, lower: bool) -> Iterator[Easing]:
    """The slope that gives enough, rounded to a hundredth of a percent on the safe side."""
    key = "slope_min_percent" if lower else "slope_max_percent"
    before = given.get(key)
    if before is None:
        return
    length = given["length_mm"]
    fall = before * length / 100 + (-give_mm if lower else give_mm)
    wanted = Decimal(repr(round(fall / length * 100, 9)))
    rounding = ROUND_FLOOR if lower else ROUND_CEILING
    after = float(wanted.quantize(Decimal("0.01"), rounding))
    if not 0 < after <= 100:
        return
    message = (
        f"Lay “{title}” at {number(after)} % instead of {number(before)} %: "
        f"it falls {millimetres(after * length / 100)} instead of "
        f"{millimetres(before * length / 100)}."
    )
    yield Easing(f"run/{key}", before, after, message)
