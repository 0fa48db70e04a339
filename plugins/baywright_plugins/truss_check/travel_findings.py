"""What the way and the people come to, in words: set down, rolled over a step, leaned on."""

import numpy as np

from baywright_service.contract import Finding, Measure

from ..kit import Kit
from .findings import first_bar, joined, names, said
from .frame_check import SectionAnswer
from .handling import DROP, LEANING, THRESHOLD, Handling
from .travel import Leaned, Rolled


def travel_findings(
    answer: SectionAnswer, kit: Kit, handling: Handling, pointer: str
) -> list[Finding]:
    """Findings of one section's drop, threshold and leaning, where they were asked for."""
    told = answer.travelled
    found = []
    if told.falls is not None:
        found.append(_drop(answer, kit, handling, pointer))
    if told.rolled:
        found.append(_threshold(answer, handling, pointer))
    if told.leaned:
        found.append(_leaned(answer, kit, handling, pointer))
    return found


def _cases(answer: SectionAnswer, pointer: str, topic: str) -> tuple[str, ...]:
    return tuple(
        f"{pointer}/cases/{place}"
        for place, state in enumerate(answer.states)
        if state.case.topic == topic
    )


def _drop(answer: SectionAnswer, kit: Kit, handling: Handling, pointer: str) -> Finding:
    """Watch where the outcome depends on feet and frame, stop where a seat slips whatever they do:
    a range says no more than that."""
    told = answer.travelled
    assert told.falls is not None
    worst, best = told.falls.worst, told.falls.best
    height = told.asked["drop"]["height_mm"]
    required = handling.required("accidental")
    at_most = worst.first_slip_mm or 0.0
    [state] = [s for s in answer.states if s.case.id == "drop-worst"]
    [kind] = [s for s in answer.states if s.case.id == "drop-best"]
    spread = (
        f"after a fall of {height:g} mm the first-slip factor is {state.factor:.2f} on feet of "
        f"{worst.foot_stiffness_n_per_mm:g} N/mm under a rigid frame and {kind.factor:.2f} on feet "
        f"of {best.foot_stiffness_n_per_mm:g} N/mm under a frame that gives; wanted is {required:g}"
    )
    at = (f"{pointer}/travel/drop", *_cases(answer, pointer, DROP))
    measure = Measure(height, round(at_most, 2), "mm")
    if state.factor >= required:
        words = f"{names(answer)} {said(answer, 'takes', 'take')} being set down hard: {spread}."
        return Finding("drop-holds", "ok", words, at, measure)
    lower = (
        f"Set {names(answer)} down from at most {at_most:.1f} mm"
        if at_most > 0
        else f"Lower {names(answer)} onto {said(answer, 'its', 'their')} feet without letting go"
    )
    return Finding(
        "drop-slips-seats",
        "stop" if kind.factor < 1 else "watch",
        f"{lower}, or fit softer feet: {spread}. {first_bar(answer, kit, state)}",
        at,
        measure,
    )


def _threshold(answer: SectionAnswer, handling: Handling, pointer: str) -> Finding:
    told = answer.travelled
    step, radius = (told.asked["threshold"][key] for key in ("step_mm", "wheel_radius_mm"))
    at = (f"{pointer}/travel/threshold", *_cases(answer, pointer, THRESHOLD))
    what = f"over a step of {step:g} mm on wheels of {radius:g} mm radius"
    rolled = [way for way in told.rolled if way.state is not None]
    if not rolled:
        words = f"{names(answer)} cannot be pushed {what}: {told.rolled[0].reason}. "
        words += "Lift it over, lay a ramp, or fit larger wheels."
        return Finding("threshold-cannot-be-rolled", "stop", words, at, Measure(step, radius, "mm"))
    required = handling.required("planned")
    worst = min(rolled, key=_factor)
    ratio = f"the push is {told.push_ratio:.2f} times the load of the leading wheels"
    barred = [way for way in told.rolled if way.state is None]
    never = f" It cannot be pushed toward {joined([w.toward for w in barred])}." if barred else ""
    measure = Measure(round(_factor(worst), 4), required, "1")
    if _factor(worst) >= required:
        words = (
            f"Push {names(answer)} {what} {_how(rolled)}: {ratio}, {_push(rolled)}, and "
            f"{said(answer, 'it holds', 'they hold')} with {_factor(worst):.2f}; wanted is "
            f"{required:g}.{never}"
        )
        return Finding("threshold-holds", "watch" if barred else "ok", words, at, measure)
    listed = joined([f"toward {w.toward} at level {w.level} ({_factor(w):.2f})" for w in rolled])
    good = [way.toward for way in rolled if _factor(way) >= required]
    advice = f"Push it toward {joined(good)} only" if good else "Lift it over or lay a ramp"
    words = (
        f"{names(answer)} {said(answer, 'strains', 'strain')} when pushed {what}: {listed}; "
        f"wanted is {required:g}; {ratio}. {advice}.{never}"
    )
    level = "watch" if good else "stop"
    return Finding("threshold-slips", level, words, at, measure)


def _factor(way: Rolled) -> float:
    return np.inf if way.state is None else float(way.state.factor)


def _how(rolled: list[Rolled]) -> str:
    levels: dict[int, list[str]] = {}
    for way in rolled:
        levels.setdefault(way.level, []).append(way.toward)
    return joined(
        [
            f"at level {level}{' or below' if level else ''} toward {joined(ways)}"
            for level, ways in levels.items()
        ]
    )


def _push(rolled: list[Rolled]) -> str:
    pushes = [way.push_n for way in rolled]
    low, high = min(pushes), max(pushes)
    return f"{low:.0f} N" if high - low < 1 else f"{low:.0f} to {high:.0f} N"


def _leaned(answer: SectionAnswer, kit: Kit, handling: Handling, pointer: str) -> Finding:
    """Where a rail keeps people off, what the section bears is told as a thing to watch."""
    told = answer.travelled
    at = (f"{pointer}/travel/leaning", *_cases(answer, pointer, LEANING))
    guarded = told.asked["leaning"]["guarded"]
    one = max(told.leaned, key=lambda o: o.leaning.total_n / min(o.tips_at_n, o.slips_at_n, 1e12))
    required = handling.required("accidental")
    load, factor = one.leaning.total_n, min(float(o.state.factor) for o in told.leaned)
    behind = " behind a rail" if guarded else ""
    where = f"on face {one.face} at {one.leaning.height_mm:.0f} mm"
    listed = joined([_load_words(other) for other in told.leaned])
    tied = f"Tied down, its first seat slips at {one.slips_at_n:.0f} N."
    if one.tips_at_n < load:
        keep = "Keep the rail up" if guarded else "Put up a rail, tie it to a wall, or add ballast"
        words = (
            f"{names(answer)}{behind} {said(answer, 'tips', 'tip')} at {one.tips_at_n:.0f} N "
            f"{where}, each section by itself; asked was {listed}. {keep}. {tied}"
        )
        level = "watch" if guarded else "stop"
        measure = Measure(round(load, 1), round(one.tips_at_n, 1), "N")
        return Finding("tips-when-leaned-on", level, words, at, measure)
    measure = Measure(round(factor, 4), required, "1")
    if factor >= required:
        words = (
            f"{names(answer)} {said(answer, 'stands', 'stand')} when leaned on ({listed}): "
            f"first-slip factor {factor:.2f}, wanted is {required:g}, and it tips only at "
            f"{one.tips_at_n:.0f} N {where}."
        )
        return Finding("leaning-holds", "ok", words, at, measure)
    level = "stop" if factor < 1 and not guarded else "watch"
    words = (
        f"{names(answer)}{behind} {said(answer, 'has', 'have')} too little reserve when leaned on "
        f"({listed}): first-slip factor {factor:.2f}, wanted is {required:g}. Keep people off, or "
        f"brace it. {tied} {first_bar(answer, kit, one.state)}"
    )
    return Finding("slips-when-leaned-on", level, words, at, measure)


def _load_words(one: Leaned) -> str:
    row = one.state.case.id == "leaned-on-by-a-row"
    return f"{one.leaning.total_n:.0f} N from {'a row of people' if row else 'one person'}"
