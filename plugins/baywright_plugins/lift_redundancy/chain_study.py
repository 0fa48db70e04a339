"""The chain of one lift: from its inputs to the member of the result."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from . import chain as chains

WORN_RATIO = 1.03


def chain_result(chain: Mapping[str, Any], gravity: float) -> dict[str, Any]:
    """Everything known of a chain; members whose inputs are missing are left out.

    Raises:
        ValueError: the links do not reach around both sprockets.
    """
    pitch, teeth = chain["pitch_mm"], chain["teeth_count"]
    pair = (teeth, chain.get("tail_teeth_count", teeth))
    wanted = chain.get("centre_distance_mm")
    links = chain.get("links_count")
    out: dict[str, Any] = {}
    if wanted is not None:
        out["length_pitches"] = chains.length_in_pitches(pair, wanted / pitch)
    if links is None:
        links = chains.even_links(out["length_pitches"])
    centre = chains.centre_in_pitches(pair, links)
    out |= {
        "links_count": links,
        "offset_link": links % 2 == 1,
        "centre_distance_mm": centre * pitch,
        "even_spacings_links_count": np.array(chains.even_spacings(links), dtype=np.int64),
        "pitch_diameter_mm": chains.pitch_diameter(pitch, pair[0]),
        "tail_pitch_diameter_mm": chains.pitch_diameter(pitch, pair[1]),
        "outside_diameter_mm": chains.outside_diameter(pitch, pair[0]),
        "wrap_deg": chains.wrap_deg(pair, centre if wanted is None else wanted / pitch),
        "wrap_as_built_deg": chains.wrap_deg(pair, centre),
        "chordal_variation_ratio": chains.chordal_variation(min(pair)),
        "new_length_mm": links * pitch,
        "replace_length_mm": links * pitch * WORN_RATIO,
    }
    if wanted is not None:
        out["take_up_mm"] = centre * pitch - wanted
    spacing = chain.get("hook_spacing_links_count")
    if spacing is not None and links % spacing == 0:
        out["hooks_count"] = links // spacing
    links_per_s = _links_per_s(chain)
    if links_per_s is not None:
        out |= _moving(chain, out, links_per_s, gravity)
    elif spacing is not None and "loaded_height_mm" in chain:
        out["loaded_hooks_count"] = chain["loaded_height_mm"] / (spacing * pitch)
    return out


def _links_per_s(chain: Mapping[str, Any]) -> float | None:
    if "hooks_per_min" in chain:
        return float(chain["hooks_per_min"] * chain["hook_spacing_links_count"] / 60.0)
    if "shaft_turns_per_min" in chain:
        return float(chain["shaft_turns_per_min"] * chain["teeth_count"] / 60.0)
    return None


def _moving(
    chain: Mapping[str, Any], still: Mapping[str, Any], links_per_s: float, gravity: float
) -> dict[str, Any]:
    pitch, spacing = chain["pitch_mm"], chain.get("hook_spacing_links_count")
    motion = chains.motion_of(pitch, chain["teeth_count"], links_per_s)
    out: dict[str, Any] = {
        "chain_speed_mm_s": motion.chain_mm_per_s,
        "shaft_turns_per_min": motion.shaft_turns_per_min,
        "tooth_passing_hz": motion.tooth_passing_hz,
    }
    hooks_per_s = links_per_s / spacing if spacing is not None else None
    if hooks_per_s is not None:
        out["hooks_per_min"] = chain.get("hooks_per_min", hooks_per_s * 60.0)
    height = chain.get("loaded_height_mm")
    if height is not None and links_per_s > 0.0:
        out["lift_transit_s"] = height / motion.chain_mm_per_s
    if height is not None and spacing is not None:
        out["loaded_hooks_count"] = height / (spacing * pitch)
    if height is not None and spacing is not None and "ball_mass_kg" in chain:
        mass = chain["ball_mass_kg"] * chain["balls_per_hook_count"]
        torque = chain["service_factor"] * chains.head_torque(
            out["loaded_hooks_count"],
            mass * gravity,
            still["pitch_diameter_mm"],
            efficiency=chain["efficiency_ratio"],
        )
        lifted = mass * chain["fill_ratio"]
        out["shaft_torque_n_m"] = torque
        out["shaft_power_w"] = torque * motion.shaft_turns_per_min * 2.0 * math.pi / 60.0
        out["lifting_power_w"] = (
            chains.lifting_power(lifted, height / 1000.0, hooks_per_s or 0.0, gravity)
            / chain["efficiency_ratio"]
        )
    frame = chain.get("frame_frequencies_hz")
    if frame is not None and len(frame):
        out["excitations"] = _excitations(motion, hooks_per_s, frame)
        out["clear_spacings_links_count"] = _clear_spacings(chain, still, frame)
    return out


def _excitations(
    motion: chains.Motion, hooks_per_s: float | None, frame: Sequence[float]
) -> list[dict[str, Any]]:
    rates = [
        ("tooth-passing", motion.tooth_passing_hz),
        ("shaft", motion.shaft_turns_per_min / 60.0),
        ("hooks", hooks_per_s),
    ]
    found = []
    for name, rate in rates:
        if rate:
            apart = chains.distance_from(rate, frame)
            found.append(
                {
                    "id": name,
                    "frequency_hz": rate,
                    "nearest_frame_hz": apart.nearest_hz,
                    "apart_ratio": apart.ratio,
                }
            )
    return found


def _clear_spacings(
    chain: Mapping[str, Any], still: Mapping[str, Any], frame: Sequence[float]
) -> np.ndarray[Any, Any]:
    """Spacings that divide the links and, at the same hooks a minute, keep the distance."""
    if "hooks_per_min" not in chain or not chain["hooks_per_min"]:
        return np.array([], dtype=np.int64)
    hooks_per_s = chain["hooks_per_min"] / 60.0
    return np.array(
        [
            spacing
            for spacing in still["even_spacings_links_count"].tolist()
            if chains.distance_from(hooks_per_s * spacing, frame).ratio
            >= chain["keep_apart_ratio"] - 1e-12
        ],
        dtype=np.int64,
    )
