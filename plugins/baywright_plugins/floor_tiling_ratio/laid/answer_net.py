"""From `netting` inputs to repeats with spacers, walls, posts."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from baywright_service.contract import CannotCalculate

from ..continued_fractions import exact
from ..made_of import Pitch
from .openings import largest_ball_through
from .spacers import NetFit, NetWanted, SpacerKind, net_fits, spread_evenly

_LISTED = 5


@dataclass(frozen=True)
class Wall:
    """A straight wall: side, section it stands on ("" for none), bays."""

    side: str
    section: str
    bays: int


def net_record(
    given: Mapping[str, Any],
    bay: Pitch,
    walls: Sequence[Wall],
    *,
    ball_mm: float | None,
    needed_mm: float | None,
) -> dict[str, Any]:
    """The fields of NettingOut. Raises CannotCalculate where net and bay give too much."""
    net = given["net"]
    panel, give = exact(net["pitch_mm"]), exact(net["give_mm"])
    kinds = [SpacerKind(row["item"], exact(row["length_mm"])) for row in given["spacers"]]
    below = exact(ball_mm) if ball_mm is not None else bay.length_mm + panel
    most = given["most_spacers_count"] if kinds else 0
    wanted = NetWanted(bay.length_mm, bay.play_mm, panel, give, kinds, most, below)
    search = net_fits(wanted, range(1, given["most_bays_count"] + 1), most=_LISTED)
    rows: int = given.get("rows_count", _rows(given, needed_mm))
    closings = {rest: net_fits(wanted, [rest], most=1).fits for rest in _rests(walls, search.fits)}
    laid = [_wall(wall, wanted, search.fits, closings, given) for wall in walls]
    found: dict[str, Any] = {
        "bay_mm": float(bay.length_mm),
        "fits": [_fit(fit, kinds) for fit in search.fits],
        "complete": search.complete,
        "rows_count": rows,
        "wall_mm": given["bottom_gap_mm"] + rows * net["height_mm"],
        "largest_ball_through_mm": largest_ball_through(
            net["opening_mm"],
            net.get("opening_height_mm", net["opening_mm"]),
            cord=net["made_of"] == "cord",
        ),
        "walls": laid,
        "posts_count": sum(wall["posts_count"] for wall in laid) - _shared_corners(walls),
    }
    plain = next((fit for fit in search.fits if not fit.spacers_in_all), None)
    if plain:
        found |= {"plain_bays_count": plain.bays, "plain_panels_count": plain.panels}
    if needed_mm is not None:
        found["wall_needed_mm"] = needed_mm
    return found


def _rows(given: Mapping[str, Any], needed_mm: float | None) -> int:
    above = (needed_mm or 0.0) - float(given["bottom_gap_mm"])
    rows = above / float(given["net"]["height_mm"])
    return max(1, math.ceil(round(rows, 9)))


def _fit(fit: NetFit, kinds: Sequence[SpacerKind]) -> dict[str, Any]:
    shown = min(fit.panels, 200)
    return {
        "bays_count": fit.bays,
        "panels_count": fit.panels,
        "spacers": [kind.item for kind in kinds],
        "spacers_count": list(fit.spacers),
        "misfit_mm": float(fit.misfit),
        "play_mm": float(fit.play),
        "widest_gap_mm": float(fit.widest_gap),
        "gaps_mm": [float(gap) for gap in spread_evenly(fit.spacers, kinds, shown)],
    }


def _rests(walls: Sequence[Wall], fits: Sequence[NetFit]) -> set[int]:
    """Bays that whole repeats leave over, in any wall."""
    return {wall.bays % fits[0].bays if fits else wall.bays for wall in walls} - {0}


def _wall(
    wall: Wall,
    wanted: NetWanted,
    fits: Sequence[NetFit],
    closings: Mapping[int, Sequence[NetFit]],
    given: Mapping[str, Any],
) -> dict[str, Any]:
    repeats, rest = divmod(wall.bays, fits[0].bays) if fits else (0, wall.bays)
    panels = repeats * fits[0].panels if fits else 0
    spacers = [repeats * n for n in fits[0].spacers] if fits else [0] * len(wanted.kinds)
    every = given["post_every_bays_count"]
    found: dict[str, Any] = {
        "side": wall.side,
        "bays_count": wall.bays,
        "repeats_count": repeats,
        "rest_bays_count": rest,
        "posts_count": wall.bays // every + 1 + (wall.bays % every > 0),
        "cut_count": 0,
    }
    if wall.section:
        found["section"] = wall.section
    if rest:
        closing = closings[rest]
        if closing:
            panels += closing[0].panels
            spacers = [a + b for a, b in zip(spacers, closing[0].spacers, strict=True)]
        else:
            length = rest * wanted.bay
            whole = math.floor(length / wanted.panel)
            panels += whole
            found |= _cut(length - whole * wanted.panel)
    return found | {"panels_count": panels, "spacers_count": spacers}


def _cut(left: Fraction) -> dict[str, Any]:
    return {"cut_count": 1, "cut_to_mm": float(left)} if left else {}


def _shared_corners(walls: Sequence[Wall]) -> int:
    sides = {wall.side for wall in walls}
    return sum({a, b} <= sides for a in ("front", "back") for b in ("near", "far"))


def walls_around(stretches: Mapping[str, Sequence[Mapping[str, Any]]], bay: Pitch) -> list[Wall]:
    """A wall on both sides of every section, and at both ends.

    Args:
        stretches: sections along and across, as the result shows them.

    Raises CannotCalculate where a section has other bays than `bay`.
    """
    for way, sides in stretches.items():
        for stretch in sides:
            length = exact(stretch["end_mm"]) - exact(stretch["start_mm"])
            if length != stretch["bays_count"] * bay.length_mm:
                reason = (
                    f"{way.capitalize()}, {stretch['id']} has bays other than {bay.id}: name the "
                    f"walls and their bays."
                )
                raise CannotCalculate("/netting/walls", reason)
    long, wide = stretches["along"], stretches["across"]
    return [
        *(Wall(side, s["id"], s["bays_count"]) for side in ("near", "far") for s in long),
        *(Wall(side, "", s["bays_count"]) for side in ("front", "back") for s in wide),
    ]
