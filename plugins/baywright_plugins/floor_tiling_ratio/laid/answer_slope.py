"""From `slope_steps` inputs to supports, falls and kinks."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import CannotCalculate

from .slope import Fall, Kink, SlopeWanted, build_slope, falls, heights_count, kinks
from .stacks import PieceKind, Stacks, stacks_of

_MOST_HEIGHTS = 1_000_000


@dataclass(frozen=True)
class Ground:
    """Where supports stand (mm), and panel joints with the play they may be off, if known."""

    along: Sequence[float]
    across: Sequence[float]
    joints: Sequence[float] | None = None
    play: float = 0.0


def _half_um(mm: float) -> int:
    """Even half micrometres: the nearest whole micrometre, doubled."""
    return 2 * round(mm * 1000)


def slope_record(given: Mapping[str, Any], ground: Ground) -> dict[str, Any]:
    """The fields of SlopeOut. Raises CannotCalculate where too many heights would be compared."""
    to_back, to_far = given["falls_to"] == "back", given["falls_across_to"] == "far"
    points = [(x, y) for y in ground.across for x in ground.along]
    rises = [
        _rise(x, ground.along, given["along_percent"], to_back)
        + _rise(y, ground.across, given["across_percent"], to_far)
        for x, y in points
    ]
    kinds = [
        PieceKind(row["item"], _half_um(row["height_mm"]), row["most_per_support_count"])
        for row in given["pieces"]
    ]
    stacks = stacks_of(kinds, given["most_pieces_per_support_count"])
    wanted = SlopeWanted(
        [_half_um(rise) for rise in rises],
        _half_um(given["low_edge_min_mm"]),
        _half_um(given.get("low_edge_max_mm", given["low_edge_min_mm"])),
        _half_um(given["base_mm"]),
        _half_um(given.get("module_mm", 0.0)),
        stacks,
    )
    if heights_count(wanted) > _MOST_HEIGHTS:
        reason = "So many heights can be stacked: take fewer pieces, or a coarser module."
        raise CannotCalculate("/slope_steps/pieces", reason)
    built = build_slope(wanted)
    heights = [support.height / 2000 for support in built.supports]
    spans, turns = _profile(ground, heights, to_back)
    found: dict[str, Any] = {
        "low_edge_mm": built.low / 2000,
        "lowest_mm": min(heights),
        "highest_mm": max(heights),
        "rise_mm": max(heights) - min(heights),
        "rise_wanted_mm": max(rises),
        "error_max_mm": built.largest_error / 2000,
        "proven": built.proven,
        "supports": {
            "along_mm": [x for x, _ in points],
            "across_mm": [y for _, y in points],
            "wanted_mm": [built.low / 2000 + rise for rise in rises],
            "height_mm": heights,
            "error_mm": [support.error / 2000 for support in built.supports],
            "modules_count": [support.modules for support in built.supports],
            "pieces": [_words(stacks, support.stack, kinds) for support in built.supports],
        },
        "falls": [_fall(y, fall) for y, fall in spans],
        "level_stretches": [_fall(y, fall) for y, fall in spans if fall.percent <= 0],
        "kinks": [
            _kink(y, kink, ground)
            for y, kink in turns
            if abs(kink.change_percent) > given["kink_percent"]
        ],
        "pieces": _pieces(stacks, [support.stack for support in built.supports], kinds),
    }
    if spans:
        percents = [fall.percent for _, fall in spans]
        found |= {"fall_min_percent": min(percents), "fall_max_percent": max(percents)}
        length = ground.along[-1] - ground.along[0]
        means = [
            sum(fall.percent * (fall.end_mm - fall.start_mm) for y, fall in spans if y == line)
            / length
            for line in ground.across
        ]
        found["fall_mean_percent"] = sum(means) / len(means)
    if turns:
        found["kink_worst_percent"] = max(abs(kink.change_percent) for _, kink in turns)
    sideways = _sideways(ground, heights, to_far)
    if sideways:
        found |= {
            "fall_across_min_percent": min(sideways),
            "fall_across_max_percent": max(sideways),
        }
    return found


def _rise(x: float, places: Sequence[float], percent: float, to_last: bool) -> float:
    return percent / 100 * (places[-1] - x if to_last else x - places[0])


def _profile(
    ground: Ground, heights: Sequence[float], to_back: bool
) -> tuple[list[tuple[float, Fall]], list[tuple[float, Kink]]]:
    """Falls and kinks of every line of supports along the floor."""
    spans: list[tuple[float, Fall]] = []
    turns: list[tuple[float, Kink]] = []
    count = len(ground.along)
    for k, y in enumerate(ground.across):
        line = falls(ground.along, heights[k * count : (k + 1) * count], to_back=to_back)
        spans += [(y, fall) for fall in line]
        turns += [(y, kink) for kink in kinks(line, to_back=to_back)]
    return spans, turns


def _sideways(ground: Ground, heights: Sequence[float], to_far: bool) -> list[float]:
    count = len(ground.along)
    return [
        fall.percent
        for k in range(count)
        for fall in falls(ground.across, heights[k::count], to_back=to_far)
    ]


def _fall(y: float, fall: Fall) -> dict[str, float]:
    return {
        "across_mm": y,
        "start_mm": fall.start_mm,
        "end_mm": fall.end_mm,
        "percent": fall.percent,
    }


def _kink(y: float, kink: Kink, ground: Ground) -> dict[str, Any]:
    found: dict[str, Any] = {
        "across_mm": y,
        "at_mm": kink.at_mm,
        "change_percent": kink.change_percent,
        "speed_kept_ratio": kink.speed_kept_ratio,
    }
    if ground.joints is not None:
        found["under_joint"] = any(abs(x - kink.at_mm) <= ground.play for x in ground.joints)
    return found


def _words(stacks: Stacks, place: int, kinds: Sequence[PieceKind]) -> str:
    used = [
        f"{count} × {kind.item}"
        for count, kind in zip(stacks.counts[place].tolist(), kinds, strict=True)
        if count
    ]
    return " + ".join(used)[:64] or "none"


def _pieces(
    stacks: Stacks, used: Sequence[int], kinds: Sequence[PieceKind]
) -> list[dict[str, Any]]:
    totals = Counter[str]()
    for place in used:
        for count, kind in zip(stacks.counts[place].tolist(), kinds, strict=True):
            totals[kind.item] += count
    return [
        {
            "item": kind.item,
            "use": f"under the floor, {kind.height / 2000:g} mm high",
            "count": totals[kind.item],
        }
        for kind in kinds
        if totals[kind.item]
    ]
