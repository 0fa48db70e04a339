"""What the model leaves out, for what was asked."""

from collections.abc import Mapping
from typing import Any

_SAID = {
    "loop": (
        "The chain is taut along tangents of the pitch circles; sag is worked as a flat parabola "
        "in one free run."
    ),
    "torque": (
        "Torque takes every hook of the rising run as full; the weights of the two chain runs "
        "cancel. Starting and jams are in the service factor only."
    ),
    "fuse": (
        "Every weak point is loaded statically and alone; the shock of a sudden jam is in the "
        "break margin only. Chain and bearings also carry preload and the weight of one run."
    ),
    "motors": "A motor's duty is taken as a share of its torque; its heating is not followed.",
    "comb": (
        "Root-sum-square holds where every size is made independently and spreads evenly about "
        "its middle; about 3 of 1000 then lie outside. Ribs and teeth are rigid and parallel."
    ),
    "loading": (
        "The ball starts from rest, is solid and rolls without slip on two ribs, or on a plane "
        "where no comb is given. Waiting balls are taken to rub all the time."
    ),
    "hinge": "The cage is rigid; each hinge moves freely within its play.",
    "guard": "Distances of the standard hold for openings as given, not for a guard that bends.",
}


def assumptions(value: Mapping[str, Any]) -> list[str]:
    """One sentence or two for each part of the result."""
    said = [words for key, words in _SAID.items() if key in value]
    if "motion" in value and "excitations" not in value["motion"]:
        said.append("No own frequencies of the frame are given: the drive is not held against any.")
    return said
