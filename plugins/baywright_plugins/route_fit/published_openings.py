"""Openings as standards print them: a first guess until somebody has been there with a tape."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

ADA = "2010 ADA Standards for Accessible Design"
ADM_HOMES = "Approved Document M (England), dwellings"
ADM_OTHER = "Approved Document M (England), buildings other than dwellings"
DIN = "DIN 18101 door leaves, for wall openings to DIN 18100"
ISO = "ISO 668 and ISO 1496-1, general-purpose containers"
LIFTS = "ISO 8100-30 / EN 81-70, passenger lifts"
PALLETS = "EN 13698"


@dataclass(frozen=True)
class PublishedOpening:
    """What a standard prints, in mm; None where it prints nothing: that must be measured.

    `before_mm` is the passage that runs along the wall in front. `upper_bound` marks sizes that
    the clear opening never reaches (a door leaf). `status` tells how the value was come by.
    """

    name: str
    title: str
    source: str
    clause: str
    status: str
    note: str
    width_mm: float | None = None
    height_mm: float | None = None
    depth_mm: float | None = None
    inside_width_mm: float | None = None
    inside_height_mm: float | None = None
    before_mm: float | None = None
    flight_width_mm: float | None = None
    upper_bound: bool = False


_READ, _MEMORY = "read", "from memory"

_ALL = (
    PublishedOpening(
        "ada-clear-door", "accessible door, United States", ADA, "404.2.3; height 307.4", _READ,
        "32 in and 80 in, as printed in mm; no hardware below 34 in, at most 4 in (102 mm) of it "
        "between 34 and 80 in, so that the opening need not be a plain rectangle.",
        width_mm=815.0, height_mm=2030.0,
    ),
    PublishedOpening(
        "adm-home-750-head-on", "door in a home, come to head on, passage of 900", ADM_HOMES,
        "clear opening against passage width", _READ, "England; no height is printed.",
        width_mm=750.0,
    ),
    PublishedOpening(
        "adm-home-775", "door in a home, turned into from a passage of 1050", ADM_HOMES,
        "clear opening against passage width", _READ, "England; no height is printed.",
        width_mm=775.0, before_mm=1050.0,
    ),
    PublishedOpening(
        "adm-new-800", "door of a new building, come to straight on", ADM_OTHER,
        "effective clear widths", _READ, "England; no height is printed.", width_mm=800.0,
    ),
    PublishedOpening(
        "adm-existing-750", "door of an existing building, come to straight on", ADM_OTHER,
        "effective clear widths", _READ, "England; no height is printed.", width_mm=750.0,
    ),
    PublishedOpening(
        "adm-public-1000", "outer door for the public, new building", ADM_OTHER,
        "effective clear widths", _READ, "England; no height is printed.", width_mm=1000.0,
    ),
    PublishedOpening(
        "adm-public-existing-775", "outer door for the public, existing building", ADM_OTHER,
        "effective clear widths", _READ, "England; no height is printed.", width_mm=775.0,
    ),
    PublishedOpening(
        "din-635", "door leaf for a wall opening of 635", DIN, "unrebated leaf", _READ,
        "The leaf, not the clear passage: frame, rebate and the open leaf take from it.",
        width_mm=584.0, height_mm=1972.0, upper_bound=True,
    ),
    PublishedOpening(
        "din-885", "door leaf for a wall opening of 885", DIN, "unrebated leaf", _READ,
        "The leaf, not the clear passage: frame, rebate and the open leaf take from it.",
        width_mm=834.0, height_mm=1972.0, upper_bound=True,
    ),
    PublishedOpening(
        "din-1135", "door leaf for a wall opening of 1135", DIN, "unrebated leaf", _READ,
        "The leaf, not the clear passage: frame, rebate and the open leaf take from it.",
        width_mm=1084.0, height_mm=1972.0, upper_bound=True,
    ),
    PublishedOpening(
        "iso-container-20", "shipping container of 20 ft", ISO, "least door and inside", _READ,
        "The door, not the inside, is the passage.",
        width_mm=2286.0, height_mm=2134.0, depth_mm=5867.0,
        inside_width_mm=2330.0, inside_height_mm=2197.0,
    ),
    PublishedOpening(
        "lift-630", "lift of 630 kg", LIFTS, "car 1100 x 1400, door 800", _MEMORY,
        "Heights of car and door are not given here.",
        width_mm=800.0, depth_mm=1400.0, inside_width_mm=1100.0,
    ),
    PublishedOpening(
        "lift-1000", "lift of 1000 kg, deep form", LIFTS, "car 1100 x 2100, door 900", _MEMORY,
        "Heights of car and door are not given here.",
        width_mm=900.0, depth_mm=2100.0, inside_width_mm=1100.0,
    ),
    PublishedOpening(
        "osha-stairs", "stairs, least width in United States workplaces", "29 CFR 1910.25",
        "(c)(4)", _MEMORY, "22 in clear between vertical barriers.", flight_width_mm=558.8,
    ),
)  # fmt: skip

OPENINGS: Mapping[str, PublishedOpening] = {entry.name: entry for entry in _ALL}


@dataclass(frozen=True)
class Pallet:
    """A flat pallet to stand on. Source: EN 13698-1, from memory."""

    name: str
    source: str
    length_mm: float
    width_mm: float
    height_mm: float


EN_13698_1 = Pallet("en-13698-1", "EN 13698-1 flat pallet 800 x 1200", 1200.0, 800.0, 144.0)


def listed() -> str:
    """All entries in one line each, for the description of the field that names them."""
    lines = []
    for entry in OPENINGS.values():
        sizes = [entry.width_mm or entry.flight_width_mm, entry.height_mm, entry.depth_mm]
        known = " x ".join(f"{size:g}" for size in sizes if size is not None)
        lines.append(f"{entry.name}: {entry.title}, {known} mm ({entry.source}, {entry.clause})")
    return "; ".join(lines)


_FILLED = (
    "width_mm", "height_mm", "depth_mm", "inside_width_mm", "inside_height_mm", "before_mm",
)  # fmt: skip


def with_library(passage: Mapping[str, Any]) -> dict[str, Any]:
    """A passage (loaded or raw) with what its library entry supplies where nothing was given."""
    filled = dict(passage)
    entry = OPENINGS.get(passage.get("library", ""))
    if entry is None:
        return filled
    for name in _FILLED:
        if name not in filled and (size := getattr(entry, name)) is not None:
            filled[name] = size
    if entry.flight_width_mm is not None and "flight" in filled:
        filled["flight"] = {"width_mm": entry.flight_width_mm, **filled["flight"]}
    return filled
