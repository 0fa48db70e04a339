"""Words for attitudes, ways and what decides."""

from collections.abc import Mapping
from typing import Any

from ..grid_fit.findings import mm

LYING = {"on-back": "laid on its back", "on-end": "laid on its end"}

HOW = {
    "straight": "straight through",
    "weaving": "shifted sideways as it goes",
    "rolled": "leaning",
    "turning": "turned in one sweep",
    "sliding": "slid sideways",
    "level": "kept level",
    "along-the-stairs": "its base along the stairs",
    "on-end": "stood on end on the landing",
}

#: what decides -> code of the finding, what is short of room
GOVERNS = {
    "width": ("section-too-wide", "the width"),
    "height": ("section-too-tall", "the height"),
    "depth": ("section-too-long", "the depth inside"),
    "inside width": ("section-too-wide", "the width inside"),
    "inside height": ("section-too-tall", "the height inside"),
    "corner": ("corner-too-tight", "the corner"),
    "leg": ("corner-too-tight", "the corridor between two corners"),
    "passage": ("turn-into-door-too-tight", "the passage along the door"),
    "ceiling": ("ceiling-too-low", "the ceiling"),
    "headroom": ("stairs-too-tight", "the headroom over the flight"),
    "landing headroom": ("stairs-too-tight", "the headroom over the landing"),
    "bend at the end of the flight": ("stairs-too-tight", "the bend at the end of the flight"),
    "turn": ("landing-too-tight", "the turn on the landing"),
    "tipping up on the landing": ("landing-too-tight", "the headroom for tipping it up"),
    "turn on the landing": ("landing-too-tight", "the landing, turned on end"),
}

_DIMENSION = {"x": "wide", "y": "deep", "z": "high"}


def attitude_words(row: Mapping[str, Any]) -> str:
    """The attitude of a way: upright, laid on its back, leaning so many degrees."""
    if row["attitude"] == "tilted":
        return f"leaning {row['angle_deg']:.0f} degrees"
    words = LYING.get(row["attitude"], "upright")
    return (
        f"{words}, {row['face_down']} down" if words != "upright" and "face_down" in row else words
    )


def how_words(row: Mapping[str, Any]) -> str:
    """Attitude and manner: upright, turned in one sweep, on a skid."""
    words = [attitude_words(row)]
    if row["how"] not in ("rolled", "straight"):
        words.append(HOW[row["how"]])
    if row["carried"] == "on-skid":
        words.append("on a skid")
    return ", ".join(words)


def size_words(row: Mapping[str, Any]) -> str:
    """What needs the room: 754 mm deep, 1814 mm long with carriers and 754 mm wide."""
    if row["governs"] in ("corner", "turn"):
        ends = " with carriers" if row["carried"] == "by-hand" else ""
        return f"{mm(row['length_mm'])} mm long{ends} and {mm(row['width_mm'])} mm wide"
    word = _DIMENSION.get(row.get("tight_axis", ""), "")
    return f"{mm(row['needed_mm'])} mm {word}".strip()


def spare_words(spare_mm: float) -> str:
    return f"{mm(-spare_mm)} mm over" if spare_mm < 0 else f"{mm(spare_mm)} mm spare"
