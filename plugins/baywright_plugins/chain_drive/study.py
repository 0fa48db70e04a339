"""From inputs to the chain, its hooks and its motion."""

import contextlib
import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from ..lift_redundancy.chain import (
    centre_in_pitches,
    chordal_variation,
    distance_from,
    even_links,
    even_spacings,
    length_in_pitches,
    motion_of,
    outside_diameter,
    pitch_diameter,
    wrap_deg,
)
from . import loop

Value = Mapping[str, Any]
WORN_PERCENT = 3.0


def teeth_of(chain: Value) -> loop.Teeth:
    """Teeth of head and tail."""
    return chain["teeth_count"], chain.get("tail_teeth_count", chain["teeth_count"])


def loop_result(chain: Value, adjuster: Value | None) -> dict[str, Any]:
    """Links, distances, diameters, sag and what the adjuster leaves.

    Raises:
        ValueError: the chain does not reach around both sprockets.
    """
    pitch, teeth, wanted = chain["pitch_mm"], teeth_of(chain), chain["centre_distance_mm"]
    if wanted / pitch <= loop.least_centre(teeth):
        raise ValueError("one sprocket inside the other")
    exact = loop.exact_length(teeth, wanted / pitch)
    links = chain.get("links_count") or chosen_links(pitch, teeth, exact, wanted, adjuster)
    centre = loop.exact_centre(teeth, links) * pitch
    sag = chain["sag_percent"] / 100.0 * centre
    uses = loop.sag_length(centre, sag)
    out: dict[str, Any] = {
        "length_pitches": length_in_pitches(teeth, wanted / pitch),
        "exact_length_pitches": exact,
        "links_count": links,
        "offset_link": links % 2 == 1,
        "centre_distance_mm": centre,
        "moved_mm": centre - wanted,
        "head_pitch_diameter_mm": pitch_diameter(pitch, teeth[0]),
        "tail_pitch_diameter_mm": pitch_diameter(pitch, teeth[1]),
        "head_outside_diameter_mm": outside_diameter(pitch, teeth[0]),
        "tail_outside_diameter_mm": outside_diameter(pitch, teeth[1]),
        "wrap_deg": wrap_deg(teeth, centre / pitch),
        "speed_fluctuation_percent": 100.0 * chordal_variation(min(teeth)),
        "new_length_mm": links * pitch,
        "replace_length_mm": links * pitch * (1.0 + WORN_PERCENT / 100.0),
        "sag_allowed_mm": sag,
        "sag_uses_mm": uses,
    }
    try:
        out["slack_off_mm"] = centre - loop.exact_centre(teeth, links - uses / pitch) * pitch
    except ValueError:  # no room to stand closer
        out["slack_off_mm"] = centre - loop.least_centre(teeth) * pitch
    with contextlib.suppress(ValueError):  # outside the range of the approximation
        out["handbook_centre_distance_mm"] = centre_in_pitches(teeth, links) * pitch
    if adjuster is not None:
        out["adjustment"] = _adjustment(chain, teeth, links, adjuster)
    return out


def chosen_links(
    pitch: float, teeth: loop.Teeth, exact: float, wanted: float, adjuster: Value | None
) -> int:
    """The next even number of links; with an adjuster that cannot reach it, one that it can.

    Of those within reach: the one whose distance is nearest to the distance wanted.
    """
    links = even_links(exact)
    if adjuster is None:
        return links
    within = _within(pitch, teeth, wanted, adjuster)
    if links in within or not len(within):
        return links
    return min(within, key=lambda n: (abs(n - exact), n))


def _within(pitch: float, teeth: loop.Teeth, wanted: float, adjuster: Value) -> range:
    low, high = wanted - adjuster["together_mm"], wanted + adjuster["apart_mm"]
    return loop.even_links_between(pitch, teeth, max(low, 0.0), high)


def _adjustment(chain: Value, teeth: loop.Teeth, links: int, adjuster: Value) -> dict[str, Any]:
    pitch, wanted = chain["pitch_mm"], chain["centre_distance_mm"]
    low = max(wanted - adjuster["together_mm"], 0.0)
    high = wanted + adjuster["apart_mm"]
    left = loop.take_up(pitch, teeth, links, low, high, chain["wear_reserve_percent"] / 100.0)
    possible = _within(pitch, teeth, wanted, adjuster)
    shown = possible if len(possible) <= 200 else possible[:200]
    out: dict[str, Any] = {
        "shortest_mm": low,
        "longest_mm": high,
        "tighten_left_mm": left.tighten_mm,
        "slacken_left_mm": left.slacken_mm,
        "wear_needs_mm": left.wear_needs_mm,
        "wear_reached_percent": 100.0 * left.wear_reached,
        "links_possible_count": np.array(shown, dtype=np.int64),
        "links_addable_count": max(0, possible[-1] - links) if len(possible) else 0,
        "links_removable_count": max(0, links - possible[0]) if len(possible) else 0,
    }
    if left.two_out_wear is not None:
        out["two_links_out_from_percent"] = 100.0 * max(0.0, left.two_out_wear)
    return out


def links_per_s(hooks: Value) -> float:
    """Links a second past a point."""
    return float(hooks["hooks_per_min"] * hooks["spacing_links_count"] / 60.0)


def spacings_result(
    chain: Value, links: int, hooks: Value | None, frame: Value | None
) -> list[dict[str, Any]]:
    """A row for each spacing that divides the links."""
    rows = []
    for spacing in even_spacings(links):
        row: dict[str, Any] = {
            "spacing_links_count": spacing,
            "hooks_count": links // spacing,
            "gap_mm": spacing * chain["pitch_mm"],
            "same_kind_of_link": spacing % 2 == 0,
        }
        if hooks is not None:
            kept = 60.0 * links_per_s(hooks) / spacing
            tooth = hooks["hooks_per_min"] * spacing / 60.0
            row |= {
                "hooks_per_min_same_speed": kept,
                "balls_per_min_same_speed": kept
                * hooks["balls_per_hook_count"]
                * hooks["fill_ratio"],
                "chain_speed_same_hooks_mm_s": tooth * chain["pitch_mm"],
                "tooth_passing_same_hooks_hz": tooth,
            }
            if frame is not None:
                rates = (tooth, tooth / chain["teeth_count"], hooks["hooks_per_min"] / 60.0)
                row["clear_of_frame"] = all(
                    distance_from(rate, frame["own_frequencies_hz"]).ratio
                    >= frame["keep_apart_ratio"] - 1e-12
                    for rate in rates
                )
        rows.append(row)
    return rows


def motion_result(chain: Value, still: Value, hooks: Value, frame: Value | None) -> dict[str, Any]:
    """Speed, rates, and the frame's own frequencies nearest to them."""
    spacing, links = hooks["spacing_links_count"], still["links_count"]
    motion = motion_of(chain["pitch_mm"], chain["teeth_count"], links_per_s(hooks))
    drop = chordal_variation(chain["teeth_count"])
    rates = {
        "tooth-passing": motion.tooth_passing_hz,
        "shaft": motion.shaft_turns_per_min / 60.0,
        "hooks": hooks["hooks_per_min"] / 60.0,
    }
    divides = links % spacing == 0 and spacing < links
    out: dict[str, Any] = {
        "spacing_divides": divides,
        "chain_speed_mm_s": motion.chain_mm_per_s,
        "chain_speed_min_mm_s": motion.chain_mm_per_s * (1.0 - drop),
        "shaft_turns_per_min": motion.shaft_turns_per_min,
        "tooth_passing_hz": rates["tooth-passing"],
        "shaft_hz": rates["shaft"],
        "hooks_hz": rates["hooks"],
        "balls_per_min": hooks["hooks_per_min"]
        * hooks["balls_per_hook_count"]
        * hooks["fill_ratio"],
    }
    if divides:
        out["hooks_count"] = links // spacing
    if frame is not None:
        out["excitations"] = []
        for name, rate in rates.items():
            apart = distance_from(rate, frame["own_frequencies_hz"])
            row = {"id": name, "frequency_hz": rate, "nearest_frame_hz": apart.nearest_hz}
            out["excitations"].append(row | {"apart_percent": 100.0 * apart.ratio})
    return out


def loaded_hooks(chain: Value, hooks: Value, lift: Value) -> float:
    """Hooks on the loaded run."""
    return float(lift["loaded_height_mm"] / (hooks["spacing_links_count"] * chain["pitch_mm"]))


def power_w(torque_n_m: float, turns_per_min: float) -> float:
    """Torque times angular speed."""
    return torque_n_m * turns_per_min * 2.0 * math.pi / 60.0
