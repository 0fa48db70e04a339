"""Changes that clear a finding, each proven by running the calculator again with the change."""

import itertools
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

from baywright_service.contract import LEVELS, Finding, Remedy, Result

from .continued_fractions import exact
from .falling import height_that_passes
from .laid.offers import OFFERS as LAID_OFFERS
from .laid.offers import Case
from .made_of import Pitch

Rerun = Callable[[Mapping[str, Any]], Result | None]
_NEAR = Fraction(5, 100)  # another panel pitch is looked for within 5 %
_TRIES = 8
_LAID_TRIES = 16  # for all findings on a floor over sections together
_LARGE_FLOOR = 600  # pieces, bearers, starts and supports above which fewer are tried
_LONG_SEARCH = 200  # repeats above which only the nearest two changes are tried


class Context:
    """What remedies are made from: validated inputs, the result, the pitches of the floor."""

    def __init__(
        self,
        inputs: Mapping[str, Any],
        raw: Mapping[str, Any],
        value: Mapping[str, Any],
        findings: Sequence[Finding],
        pitches: Sequence[Pitch],
        panel: int,
    ) -> None:
        self.inputs, self.raw, self.value, self.findings = inputs, raw, value, findings
        self.pitches, self.panel = pitches, panel

    def panel_patch(self, pitch_mm: float) -> Mapping[str, Any] | None:
        """The panel's pitch exchanged; None where it is built from parts."""
        given = self.raw["pitches"]
        if "parts" in given[self.panel]:
            return None
        changed = [dict(pitch) for pitch in given]
        changed[self.panel]["pitch_mm"] = pitch_mm
        return {"pitches": changed}


def with_remedies(
    findings: Sequence[Finding], context: Context, rerun: Rerun
) -> tuple[Finding, ...]:
    """The same findings; those that a change clears carry it."""
    laid, slope = (context.value.get(key) for key in ("laid", "slope_steps"))
    size = sum(len(laid["along"][part]["kind"]) for part in ("pieces", "bearers")) if laid else 0
    size += laid["along"]["starts_compared_count"] // 4 if laid else 0
    size += len(slope["supports"]["along_mm"]) if slope else 0
    budget = itertools.repeat(None, _LAID_TRIES if size <= _LARGE_FLOOR else _LAID_TRIES // 4)
    return tuple(_with_remedy(finding, context, rerun, budget) for finding in findings)


Offer = tuple[str, Mapping[str, Any]]


def _with_remedy(
    finding: Finding, context: Context, rerun: Rerun, budget: Iterator[None]
) -> Finding:
    if finding.level == "ok":
        return finding
    offers = _offers(finding, context, budget)
    tries = _TRIES if context.inputs["most_repeats_count"] <= _LONG_SEARCH else 2
    for message, patch in itertools.islice(offers, tries):
        after = rerun(patch)
        if after is not None and _clears(finding, after, context):
            return replace(finding, remedy=Remedy(message, patch))
    return finding


def _offers(finding: Finding, context: Context, budget: Iterator[None]) -> Iterator[Offer]:
    if finding.code in _OFFERS:
        return _OFFERS[finding.code](finding, context)
    if finding.code in LAID_OFFERS:
        case = Case(context.inputs, context.raw, context.value)
        offers = LAID_OFFERS[finding.code](finding, case)
        return (offer for offer, _ in zip(offers, budget, strict=False))
    return iter(())


def _clears(finding: Finding, after: Result, context: Context) -> bool:
    """The finding is gone at its place, and nothing as bad has come up instead."""
    before = {(f.code, f.at) for f in context.findings}
    left = {(f.code, f.at) for f in after.findings}
    rank = LEVELS.index(finding.level)
    worse = [f for f in after.findings if (f.code, f.at) not in before]
    gone = (finding.code, finding.at) not in left
    return gone and all(LEVELS.index(f.level) < rank for f in worse)


def _another_pitch(finding: Finding, context: Context) -> Iterator[Offer]:
    """Panel pitches near the present one that make a small ratio with the frame pitch."""
    first = context.pitches[int(finding.at[0].rsplit("/", 1)[1])]
    panel = context.pitches[context.panel]
    tried = {
        round(float(first.length_mm * bays / count), digits)
        for bays in range(1, 7)
        for count in range(1, 100)
        for digits in (1, 2)
        if abs(first.length_mm * bays / count / panel.length_mm - 1) <= _NEAR
    }
    for pitch_mm in sorted(tried, key=lambda x: (abs(x - float(panel.length_mm)), x)):
        patch = context.panel_patch(pitch_mm)
        if patch:
            yield f"Take panels of {pitch_mm:g} mm pitch in place of {panel.id}.", patch


def _dividing_pitch(finding: Finding, context: Context) -> Iterator[Offer]:
    """Panel pitches near the present one that divide this direction of the floor."""
    panel = context.pitches[context.panel]
    length = exact(context.inputs["floor"][finding.at[0].rsplit("/", 1)[1]])
    counts = range(1, math.floor(length / panel.length_mm * 2) + 2)
    tried = {
        round(float(length / count), 1)
        for count in counts
        if abs(length / count / panel.length_mm - 1) <= _NEAR
    }
    for pitch_mm in sorted(tried, key=lambda x: (abs(x - float(panel.length_mm)), x)):
        patch = context.panel_patch(pitch_mm)
        if patch:
            yield f"Take panels of {pitch_mm:g} mm pitch: they divide the floor whole.", patch


def _another_place(finding: Finding, context: Context) -> Iterator[Offer]:
    words = {
        "choose": "Let the strip go where it is clear.",
        "spread": "Spread the left-over into the joints.",
    }
    for wish, message in words.items():
        if wish != context.inputs["floor"]["left_over"]:
            yield message, {"floor": {"left_over": wish}}


def _narrower_groove(finding: Finding, context: Context) -> Iterator[Offer]:
    report = context.value["rolling"]
    widest = context.inputs["ball"]["diameter_mm"] * math.sin(
        math.atan(report["slope_percent"] / 100)
    )
    added = report["groove_mm"] - context.inputs["rolling"]["groove_mm"]
    groove = math.floor((widest - added) * 10) / 10
    if groove > 0:
        message = f"Narrow the grooves to {groove:g} mm: then even a ball at rest rolls out."
        yield message, {"rolling": {"groove_mm": groove}}


def _steeper(finding: Finding, context: Context) -> Iterator[Offer]:
    needed = context.value["rolling"]["slope_to_keep_rolling_percent"]
    slope = math.ceil(needed * 100) / 100
    yield f"Make the floor {slope:g} % steep.", {"rolling": {"slope_percent": slope}}


def _higher_wall(finding: Finding, context: Context) -> Iterator[Offer]:
    wall = math.ceil(context.value["drop"]["wall_needed_mm"])
    yield f"Raise the wall to {wall} mm.", {"drop": {"wall_mm": wall}}


def _lower_drop(finding: Finding, context: Context) -> Iterator[Offer]:
    inputs, value = context.inputs, context.value
    ball, gravity, drop = inputs["ball"], inputs["gravity_m_s2"], inputs["drop"]
    heights = []
    if "panel_strength" in value:
        strength = value["panel_strength"]
        chosen = strength["on_edge" if strength["better"] == "on-edge" else "flat"]
        heights += [
            height_that_passes(
                ball,
                hit["stiffness_n_per_mm"],
                hit["first_slip_n"] / drop["reserve_ratio"],
                gravity,
            )
            for hit in chosen["hits"]
        ]
    if "seat_limit_n" in value["drop"] and "stiffness_max_n_per_mm" in drop:
        force = value["drop"]["seat_limit_n"] * drop["seats_sharing_count"]
        heights.append(height_that_passes(ball, drop["stiffness_max_n_per_mm"], force, gravity))
    height = math.floor(min(heights))
    if height > 0:
        yield f"Let balls fall {height} mm at most.", {"drop": {"height_mm": height}}


def _finer_ridge(finding: Finding, context: Context) -> Iterator[Offer]:
    for ridge in (1.0, 0.5, 0.2, 0.1):
        if ridge < context.inputs["rolling"]["ridge_mm"]:
            yield f"File the ridge down to {ridge:g} mm.", {"rolling": {"ridge_mm": ridge}}


_OFFERS: dict[str, Callable[[Finding, Context], Iterator[Offer]]] = {
    "no-ratio": _another_pitch,
    "ratio-forced": _another_pitch,
    "left-over": _dividing_pitch,
    "strip-under-landing": _another_place,
    "ball-traps-in-groove": _narrower_groove,
    "slope-too-flat": _steeper,
    "wall-too-low": _higher_wall,
    "impact-over-seat": _lower_drop,
    "ridge-stops-ball": _finer_ridge,
}
