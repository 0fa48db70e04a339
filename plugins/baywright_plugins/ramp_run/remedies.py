"""Changes that clear a finding, each proven by running the calculator again with the change."""

import copy
import itertools
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from baywright_service.contract import LEVELS, Finding, Remedy, Result

from .wording import mm

Given = Mapping[str, Any]
Rerun = Callable[[Given], Result | None]
Offer = tuple[str, Given]

_MENDED = 8  # findings for which a change is looked for
_TRIES = 4  # changes tried for one of them
_PROOFS = 24  # runs in all that prove changes, fewer where one run takes long
_QUICK = 2_000  # joints and steps round bends up to which a run is quick


def with_remedies(
    findings: Sequence[Finding], value: Given, inputs: Any, rerun: Rerun
) -> list[Finding]:
    """The same findings; those that a change clears carry it."""
    proofs = max(1, min(_PROOFS, _PROOFS * _QUICK // _work(value, inputs)))
    mended: list[Finding] = []
    looked = 0
    for finding in findings:
        offers = _OFFERS.get(finding.code)
        if offers is None or finding.level == "ok" or looked >= _MENDED:
            mended.append(finding)
            continue
        looked += 1
        for message, patch in _tried(offers(_place(finding), value, inputs.raw)):
            proofs -= 1
            after = rerun(patch) if proofs >= 0 else None
            if after is not None and _clears(finding, findings, after):
                finding = replace(finding, remedy=Remedy(message, patch))
                break
        mended.append(finding)
    return mended


def _tried(offers: Iterator[Offer]) -> Iterator[Offer]:
    return itertools.islice(offers, _TRIES)


def _work(value: Given, inputs: Any) -> int:
    """About how many small steps one run takes."""
    joints = 3 * sum(s.get("joint", {}).get("joints_count", 0) for s in value["segments"])
    turns = sum(max(96, s["turn_deg"] / 6) for s in inputs["segments"] if "turn_deg" in s)
    return int(joints + turns) + 1


def _place(finding: Finding) -> int:
    return int(finding.at[0].split("/")[2])


def _clears(finding: Finding, before: Sequence[Finding], after: Result) -> bool:
    """The finding is gone at its place, and nothing as bad has come up in segments before it.

    What comes after a ball that stopped could not be seen before, so it is not held against the
    change.
    """
    if any((f.code, f.at) == (finding.code, finding.at) for f in after.findings):
        return False
    known = {(f.code, f.at) for f in before}
    rank = LEVELS.index(finding.level)
    return not any(
        LEVELS.index(f.level) >= rank
        and (f.code, f.at) not in known
        and f.at[0].startswith("/segments/")
        and _place(f) <= _place(finding)
        for f in after.findings
        if f.at[0].count("/") > 1
    )


def _segment_patch(raw: Given, k: int, **changes: Any) -> Given:
    segments = copy.deepcopy(list(raw["segments"]))
    segments[k] = {**segments[k], **changes}
    return {"segments": segments}


def _support_patch(raw: Given, k: int, **changes: Any) -> Given:
    supports = copy.deepcopy(list(raw["supports"]))
    supports[k] = {**supports[k], **changes}
    return {"supports": supports}


def _steeper(k: int, value: Given, raw: Given) -> Iterator[Offer]:
    needed = value["segments"][k].get("slope_min_percent")
    kind = raw["segments"][k]["kind"]
    if needed is None or kind not in ("straight", "ribs", "curve"):
        return
    for share in (1.1, 1.5, 2.5):
        slope = math.ceil(needed * share * 10) / 10
        name = value["segments"][k]["name"]
        yield f"Let {name} fall {slope:g} %.", _segment_patch(raw, k, slope_percent=slope)


def _bank_or_guard(k: int, value: Given, raw: Given) -> Iterator[Offer]:
    segment, ball = value["segments"][k], raw["ball"]["diameter_mm"]
    low, high = segment["curve"]["bank_low_deg"], segment["curve"]["bank_high_deg"]
    name = segment["name"]
    for bank in (math.ceil(high), round((low + high) / 2)):
        if bank <= 85:
            patch = _segment_patch(raw, k, bank_deg=bank)
            yield f"Bank {name} by {bank} degrees.", patch
    guard = math.ceil(max(segment["curve"]["guard_needed_mm"], ball / 2))
    patch = _segment_patch(raw, k, guard_mm=guard)
    yield f"Put guards of {guard} mm at the sides of {name}.", patch


def _less_bank(k: int, value: Given, raw: Given) -> Iterator[Offer]:
    segment, ball = value["segments"][k], raw["ball"]["diameter_mm"]
    bank = math.floor(segment["curve"]["bank_low_deg"])
    name = segment["name"]
    yield f"Bank {name} by {bank} degrees only.", _segment_patch(raw, k, bank_deg=bank)
    guard = math.ceil(ball / 2)
    patch = _segment_patch(raw, k, guard_mm=guard)
    yield f"Put guards of {guard} mm at the sides of {name}.", patch


def _wider_crest(k: int, value: Given, raw: Given) -> Iterator[Offer]:
    segment = value["segments"][k]
    radius, limit = raw["segments"][k]["radius_mm"], segment["arc"].get("speed_limit_m_per_s")
    if not limit:
        return
    wide = radius * (segment["speed_most_m_per_s"] / limit) ** 2
    for share in (1.05, 1.3, 2.0):
        radius = math.ceil(wide * share / 10) * 10
        name = segment["name"]
        yield f"Give {name} a radius of {radius} mm.", _segment_patch(raw, k, radius_mm=radius)


def _smaller_loop(k: int, value: Given, raw: Given) -> Iterator[Offer]:
    segment = value["segments"][k]
    arc = segment["arc"]
    fits = (segment["speed_in_low_m_per_s"] / arc["loop_speed_min_m_per_s"]) ** 2
    radius = raw["segments"][k]["radius_mm"]
    for share in (0.97, 0.9, 0.75, 0.5):
        small = math.floor(radius * fits * share)
        if small >= 5:
            name = segment["name"]
            patch = _segment_patch(raw, k, radius_mm=small)
            yield f"Make {name} smaller: a radius of {small} mm.", patch


def _higher_wall(k: int, value: Given, raw: Given) -> Iterator[Offer]:
    wall = math.ceil(value["segments"][k]["landing"]["wall_needed_mm"])
    yield f"Raise the wall to {wall} mm.", _segment_patch(raw, k, wall_mm=wall)


def _longer_landing(k: int, value: Given, raw: Given) -> Iterator[Offer]:
    landing = value["segments"][k]["landing"]
    start = min(raw["segments"][k]["catch_from_mm"], math.floor(landing["touch_low_mm"]))
    end = max(raw["segments"][k]["catch_to_mm"], math.ceil(landing["touch_high_mm"]))
    patch = _segment_patch(raw, k, catch_from_mm=start, catch_to_mm=end)
    yield f"Let the landing reach from {start:g} to {end:g} mm.", patch


def _closer_rails(k: int, value: Given, raw: Given) -> Iterator[Offer]:
    support, size = raw["supports"][k], raw["ball"]["diameter_mm"]
    field = {"rails": "gauge_mm", "ribs-along": "gap_mm", "square-channel": "width_mm"}
    if support["kind"] not in field:
        return
    key = field[support["kind"]]
    rod = support.get("rod_diameter_mm", 0.0)
    size = round(0.62 * (size + rod), 1)
    what = key.removesuffix("_mm")
    yield f"Set the {what} of {support['id']} to {mm(size)}.", _support_patch(raw, k, **{key: size})


Offers = Callable[[int, Given, Given], Iterator[Offer]]
_OFFERS: dict[str, Offers] = {
    "ball-stalls": _steeper,
    "ball-stays-in-joint": _steeper,
    "ball-too-slow": _steeper,
    "leaves-curve": _bank_or_guard,
    "runs-down-bank": _less_bank,
    "leaves-crest": _wider_crest,
    "falls-off-loop": _smaller_loop,
    "wall-too-low": _higher_wall,
    "overshoots-landing": _longer_landing,
    "lands-short": _longer_landing,
    "falls-through": _closer_rails,
    "rails-may-spread": _closer_rails,
    "ball-sits-deep": _closer_rails,
    "ball-wedges": _closer_rails,
}
