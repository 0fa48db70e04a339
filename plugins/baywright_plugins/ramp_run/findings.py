"""What the builder should know, in one sentence each. Codes are stable."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure

from ..floor_tiling_ratio.findings import ball_findings
from .findings_bends import bend_findings
from .findings_landing import landing_findings
from .wording import mm, slope, span, speed, stopped

Given = Mapping[str, Any]
DEEP_SEAT = 0.6  # contacts nearer to the axis than this share of the radius; common practice


def all_findings(value: Given, inputs: Given) -> list[Finding]:
    """In the order in which a ball meets them; the whole ramp last."""
    found = ball_findings(inputs["ball"]["diameter_mm"])
    used = {segment["support"] for segment in value["segments"]}
    for k, support in enumerate(value["supports"]):
        if support["id"] in used:
            found += _support(k, support, inputs)
    for k, segment in enumerate(value["segments"]):
        found += _segment(k, segment, inputs)
    return found + _resting(value) + _whole(value, inputs)


def _support(k: int, support: Given, inputs: Given) -> list[Finding]:
    given, size = inputs["supports"][k], inputs["ball"]["diameter_mm"]
    at, name = (f"/supports/{k}",), support["id"]
    if not support["holds"]:
        message = (
            f"A ball of {mm(size)} falls through or jams in {name}: the opening is as wide as "
            f"the ball. Set it to about two thirds of the ball."
        )
        return [Finding("falls-through", "stop", message, at)]
    found = []
    gap = support["clear_gap_mm"]
    if given.get("gauge_play_mm") and gap >= size:
        message = (
            f"{name} may open to a clear gap of {mm(gap)}, the ball is {mm(size)}: tie the rails "
            f"together or set the gauge closer."
        )
        found.append(Finding("rails-may-spread", "stop", message, at, Measure(gap, size, "mm")))
    share = support["effective_radius_mm"] / (size / 2)
    if support["wedges"]:
        message = (
            f"On {name} each contact lies {support['contact_angle_deg']:.0f} degrees beside the "
            f"lowest point: friction jams the ball there. Narrow the opening."
        )
        found.append(Finding("ball-wedges", "stop", message, at, Measure(share, DEEP_SEAT, "1")))
    elif share < DEEP_SEAT:
        message = (
            f"The ball sits deep in {name}: its contacts lie {mm(support['effective_radius_mm'])} "
            f"from its axis, {share:.0%} of its radius, so it starts slowly and loses much at "
            f"joints. Narrow the opening."
        )
        found.append(Finding("ball-sits-deep", "watch", message, at, Measure(share, DEEP_SEAT)))
    return found


def _segment(k: int, segment: Given, inputs: Given) -> list[Finding]:
    found = []
    if segment.get("ends"):
        found.append(_ends(k, segment, inputs))
    if segment["slips"] != "never":
        found.append(_slips(k, segment, inputs))
    hop, size = segment["hop_mm"], inputs["ball"]["diameter_mm"]
    if hop > size:
        message = (
            f"The fastest ball flies {mm(hop)} where {segment['name']} begins, because the slope "
            f"changes at once there: put in a crest, or a guard as high as the ball."
        )
        measure = Measure(hop, size, "mm")
        found.append(Finding("hops-at-kink", "watch", message, (f"/segments/{k}",), measure))
    found += _hops_over_joints(k, segment)
    found += bend_findings(k, segment, inputs)
    found += landing_findings(k, segment, inputs)
    return found + _slow_and_fast(k, segment, inputs)


def _ends(k: int, segment: Given, inputs: Given) -> Finding:
    name, who, at = segment["name"], stopped(segment), (f"/segments/{k}",)
    here = mm(segment["stops_at_mm"])
    match segment["ends"]:
        case "falls-through":
            message = (
                f"{who} falls into {name}: the opening or step is as large as the ball allows. "
                f"Close it."
            )
            return Finding("ball-falls-through", "stop", message, at)
        case "stuck":
            return _stuck(k, segment)
        case "thrown-back":
            message = (
                f"{who} stops where {name} begins: the slope changes too sharply there. Put in a "
                f"dip or crest with a radius."
            )
            return Finding("ball-thrown-back", "stop", message, at)
    needed = segment.get("slope_min_percent")
    if needed is None:
        message = f"{who} stops after {here} of {name}: let it start higher or make {name} lower."
        return Finding("ball-stalls", "stop", message, at)
    has = segment.get("slope_start_percent", 0.0)
    has_word = f"falls {slope(has)}" if has >= 0 else f"rises {slope(-has)}"
    message = (
        f"{who} stops after {here} of {name}: it {has_word} and the slowest ball needs "
        f"{slope(needed)} to keep going. Make it steeper, or measure the rolling resistance of "
        f"your own balls to narrow its range."
    )
    field = "slope_percent" if inputs["segments"][k]["kind"] != "level" else "kind"
    measure = Measure(has, needed, "%")
    return Finding("ball-stalls", "stop", message, (f"/segments/{k}/{field}",), measure)


def _stuck(k: int, segment: Given) -> Finding:
    joint = segment["joint"]
    needed = joint.get("speed_needed_m_per_s")
    reason = "no speed is enough" if needed is None else f"it needs {speed(needed)} to pass one"
    message = (
        f"{stopped(segment)} stays in a joint after {mm(segment['stops_at_mm'])} of "
        f"{segment['name']}: {reason}. Narrow the gap, file the step, or let balls come faster."
    )
    measure = None
    if needed is not None:
        measure = Measure(segment["speed_in_low_m_per_s"], needed, "m/s")
    return Finding("ball-stays-in-joint", "stop", message, (f"/segments/{k}",), measure)


def _slips(k: int, segment: Given, inputs: Given) -> Finding:
    which = "Balls slide" if segment["slips"] == "always" else "Some balls slide"
    has = segment["slope_start_percent"]
    message = (
        f"{which} on {segment['name']} instead of rolling: at {slope(abs(has))} it asks for more "
        f"friction than is certain. Expect wear and uneven times; make it less steep or rougher."
    )
    return Finding("ball-slips", "watch", message, (f"/segments/{k}/slope_percent",))


def _hops_over_joints(k: int, segment: Given) -> list[Finding]:
    flies = segment.get("joint", {}).get("speed_flies_m_per_s")
    fast = segment.get("speed_in_high_m_per_s", 0.0)
    fastest = max(fast, segment.get("speed_most_m_per_s", 0.0))
    if flies is None or fastest <= flies or segment.get("joint", {}).get("on_ground"):
        return []
    message = (
        f"Above {speed(flies)} balls fly over part of the gaps of {segment['name']}; the fastest "
        f"comes at {speed(fastest)}. They lose less there and may rattle: give the sides a guard."
    )
    measure = Measure(fastest, flies, "m/s")
    return [Finding("flies-over-joints", "ok", message, (f"/segments/{k}",), measure)]


def _slow_and_fast(k: int, segment: Given, inputs: Given) -> list[Finding]:
    found = []
    least, most = inputs["speed_least_m_per_s"], inputs.get("speed_most_m_per_s")
    out = segment.get("speed_out_low_m_per_s")
    caught = inputs["segments"][k].get("caught", False)
    if out is not None and out < least and not caught:
        message = (
            f"The slowest ball leaves {segment['name']} at {speed(out)}; below {speed(least)} "
            f"dust or a draught stops it. Make it steeper there."
        )
        measure = Measure(out, least, "m/s")
        found.append(Finding("ball-too-slow", "watch", message, (f"/segments/{k}",), measure))
    top = segment.get("speed_most_m_per_s")
    if most is not None and top is not None and top > most:
        message = (
            f"The fastest ball reaches {speed(top)} on {segment['name']}; {speed(most)} is "
            f"allowed. Make it less steep, shorter, or brake it with ribs."
        )
        measure = Measure(top, most, "m/s")
        found.append(Finding("ball-too-fast", "watch", message, (f"/segments/{k}",), measure))
    return found


def _resting(value: Given) -> list[Finding]:
    """Where a ball that someone stopped stays: one finding for all such places."""
    places, worst = [], 0.0
    for k, segment in enumerate(value["segments"]):
        needs = segment.get("joint", {}).get("slope_to_leave_percent")
        if needs is None or segment.get("slope_start_percent", 0.0) >= needs:
            continue
        if segment["passed"] == "never":
            continue  # said already, and worse
        places.append((k, segment["name"], needs, segment.get("slope_start_percent", 0.0)))
        worst = max(worst, needs)
    if not places:
        return []
    listed = "; ".join(
        f"{name} (falls {slope(has)}, a resting ball needs {slope(needs)})"
        for _, name, needs, has in places[:4]
    )
    more = f" and {len(places) - 4} more" if len(places) > 4 else ""
    message = (
        f"A ball that comes to rest in a joint stays there: {listed}{more}. Narrow the gaps, or "
        f"keep a stick at hand."
    )
    at = tuple(f"/segments/{k}/gap_mm" for k, *_ in places)
    return [Finding("rests-in-joint", "watch", message, at, Measure(places[0][3], worst, "%"))]


def _whole(value: Given, inputs: Given) -> list[Finding]:
    if value["arrives"] == "never" or "transit_high_s" not in value:
        return []
    low, high = value["transit_low_s"], value["transit_high_s"]
    ends = span(value["end_speed_low_m_per_s"], value["end_speed_high_m_per_s"], "m/s")
    message = f"Every ball gets to the end in {span(low, high, 's', 1)} and arrives at {ends}."
    if "balls_high_count" in value:
        held = span(value["balls_low_count"], value["balls_high_count"], "balls", 1)
        message += f" At {inputs['balls_per_min']:g} a minute {held} are on the ramp: have them."
    found = [Finding("balls-arrive", "ok", message, ("/segments",))]
    most = inputs.get("transit_most_s")
    if most is not None and high > most:
        late = (
            f"The slowest ball takes {high:.1f} s, {most:g} s are allowed. Make the slowest "
            f"segment steeper: {_slowest(value['segments'])}."
        )
        at = ("/transit_most_s",)
        found.append(Finding("ball-takes-too-long", "watch", late, at, Measure(high, most, "s")))
    return found + _crowding(value, inputs)


def _slowest(segments: Sequence[Given]) -> str:
    longest = max(segments, key=lambda segment: segment.get("time_high_s", 0.0))
    return f"{longest['name']} ({longest['time_high_s']:.1f} s)"


def _crowding(value: Given, inputs: Given) -> list[Finding]:
    rate, most = inputs.get("balls_per_min"), value.get("capacity_per_min")
    if rate is None or most is None or rate <= most:
        return []
    message = (
        f"At {rate:g} balls a minute they touch one another at the slowest place; {most:.0f} a "
        f"minute is the most. Let balls start with more speed, or share them over two ramps."
    )
    at = ("/balls_per_min",)
    return [Finding("balls-touch", "watch", message, at, Measure(rate, most, "/min"))]
