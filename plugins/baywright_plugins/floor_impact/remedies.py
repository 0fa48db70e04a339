"""Changes that bring the hits within strength, each worked through again."""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from baywright_service.contract import LEVELS, Finding, Remedy, Result, merge_patch

from .words import BUILT, TURNED, mm

Rerun = Callable[[Mapping[str, Any]], Result | None]
Patch = Mapping[str, Any]

_MOST_TRAVEL_MM = 150.0
_THICKER_MM = 2.0
_MOST_TRIES = 6
_MOST_TRIES_LARGE = 3  # of panels with more bays than this
_LARGE_BAYS = 12


@dataclass(frozen=True)
class Offer:
    """A change in words, its patch, and what it leads to."""

    message: str
    patch: Patch
    after: Result

    @property
    def used(self) -> float:
        value = self.after.value
        built = value["comparison"]["built"]
        panel = next(one for one in value["panels"] if one["orientation"] == built)
        return float(panel["worst"]["utilisation_max_ratio"])


def offers(inputs: Mapping[str, Any], value: Mapping[str, Any], rerun: Rerun) -> list[Offer]:
    """What else would do, where the panel as it is does not; what costs little comes first."""
    built = value["comparison"]["built"]
    panel = next(one for one in value["panels"] if one["orientation"] == built)
    if panel["passes"]:
        return []
    asked = inputs["panel"]
    large = asked["bays_along_count"] * asked["bays_across_count"] > _LARGE_BAYS
    left = _MOST_TRIES_LARGE if large else _MOST_TRIES
    found: list[Offer] = []
    for ways in _changes(inputs, value, panel):
        for message, patch in ways:
            if left == 0:
                return found
            left -= 1
            whole = merge_patch({"panel": {"built": built}}, patch)
            after = rerun(whole)
            if after is None:
                continue
            found.append(Offer(message, whole, after))
            if found[-1].used <= 1:
                break
    return found


Ways = Iterable[tuple[str, Patch]]


def _changes(
    inputs: Mapping[str, Any], value: Mapping[str, Any], panel: Mapping[str, Any]
) -> Iterator[Ways]:
    """Kinds of change; of each kind milder ways come first."""
    said, asked = value["comparison"], inputs["panel"]
    built = said["built"]
    if said["better"] != built:
        other = TURNED[built]
        yield [(f"Build the panel {BUILT[other]}.", {"panel": {"built": other}})]
    yield _soft(inputs, value)
    yield _lower(inputs, panel)
    supports = asked["supports"]
    if supports["rests_on"] in ("ends", "edges", "corners") and asked["bays_along_count"] > 1:
        every = max(1, asked["bays_along_count"] // 2)
        patch = {"rests_on": "bearers", "bearer_every_bays_count": every}
        bays = "bay" if every == 1 else f"{every} bays"
        yield [(f"Put a bearer under every {bays}.", {"panel": {"supports": patch}})]
    if "deck" in asked:
        thick = asked["deck"]["thickness_mm"] + _THICKER_MM
        yield [(f"Take a deck of {mm(thick)}.", {"panel": {"deck": {"thickness_mm": thick}}})]
    else:
        deck = {"thickness_mm": 4, "modulus_n_per_mm2": 7000}
        yield [("Lay a deck of 4 mm plywood on top.", {"panel": {"deck": deck}})]
    if built == "on-edge" and asked["diagonals"] in ("lean-in", "alternating"):
        yield [("Cross the diagonals of all trusses.", {"panel": {"diagonals": "crossed"}})]


def _soft(inputs: Mapping[str, Any], value: Mapping[str, Any]) -> Iterator[tuple[str, Patch]]:
    """Felt or a net on top, with room for what the time course may add."""
    stop = value.get("stop", {})
    if "spring_mm" not in stop or "slowing" in inputs:
        return
    for spare in (1.25, 2.0):
        travel = math.ceil(stop["spring_mm"] * spare)
        if travel > _MOST_TRAVEL_MM:
            return
        # Just enough to take the whole fall before it lies flat.
        energy = 1050 * value["ball"]["energy_j"] * (1 + travel / inputs["drop"]["height_mm"])
        stiffness = math.ceil(200 * energy / travel**2) / 100
        title = "felt" if travel <= 12 else "net or thick foam"
        words = f"Lay {title} that gives {travel} mm, {stiffness:g} N/mm under one ball."
        patch = {"title": title, "travel_mm": travel, "stiffness_n_per_mm": stiffness}
        yield words, {"slowing": patch}


def _lower(inputs: Mapping[str, Any], panel: Mapping[str, Any]) -> Iterator[tuple[str, Patch]]:
    """The utilisation grows about as the root of the drop."""
    height, used = inputs["drop"]["height_mm"], panel["worst"]["utilisation_max_ratio"]
    own = panel["own_weight_ratio"]
    if own >= 1:
        return
    share = ((1 - own) / (used - own)) ** 2 if used > own else 1.0
    for spare in (0.98, 0.8):
        lower = math.floor(height * share * spare)
        if lower >= 1:
            yield f"Let balls fall {mm(lower)} at most.", {"drop": {"height_mm": lower}}


def with_remedies(
    findings: Sequence[Finding],
    inputs: Mapping[str, Any],
    value: Mapping[str, Any],
    found: Sequence[Offer],
    rerun: Rerun,
) -> list[Finding]:
    """The same findings, each with the first change that clears it and brings nothing as bad."""
    before = {(f.code, f.at): f.level for f in findings}
    mended = []
    for finding in findings:
        if finding.level == "ok":
            mended.append(finding)
            continue
        tried = [*found, *_others(finding, inputs, value, rerun)]
        cure = next((offer for offer in tried if _clears(finding, offer.after, before)), None)
        mended.append(
            finding if cure is None else replace(finding, remedy=Remedy(cure.message, cure.patch))
        )
    return mended


def _others(
    finding: Finding, inputs: Mapping[str, Any], value: Mapping[str, Any], rerun: Rerun
) -> Iterator[Offer]:
    """Changes for what is not a question of strength."""
    message, patch = "", {}
    match finding.code:
        case "wall-too-low":
            wall = math.ceil(value["ball"]["wall_needed_mm"])
            message, patch = f"Raise the wall to {wall} mm.", {"drop": {"wall_mm": wall}}
        case "panel-lifts":
            message = "Clip the panel to its supports."
            patch = {"panel": {"supports": {"clipped": True}}}
        case "orientation-loses":
            other = TURNED[value["comparison"]["built"]]
            message, patch = f"Build it {BUILT[other]}.", {"panel": {"built": other}}
        case "ball-falls-through":
            deck = {"thickness_mm": 4, "modulus_n_per_mm2": 7000}
            message, patch = "Lay a deck of 4 mm plywood on top.", {"panel": {"deck": deck}}
    if message:
        after = rerun(patch)
        if after is not None:
            yield Offer(message, patch, after)


def _clears(
    finding: Finding, after: Result, before: Mapping[tuple[str, tuple[str, ...]], str]
) -> bool:
    """Gone, and nothing worse than before has come up."""
    rank = LEVELS.index
    left = {(f.code, f.at): f.level for f in after.findings}
    if left.get((finding.code, finding.at), "ok") != "ok":
        return False
    return all(
        rank(level) <= rank(before.get(key, "ok")) or rank(level) < rank(finding.level)
        for key, level in left.items()
    )
