"""What the builder should know, in one sentence each. Codes are stable."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure

from ..cautions import is_small_ball
from .common_step import steps_in_words
from .made_of import number
from .ratios import AllPitches, Meeting, PairOfPitches

SMALL_BALL_MM = 44.45  # 16 CFR 1500.18(a)(17): what passes a hole of 1.75 in
FORCED = 0.5  # above this share of the play rods go in under force; common practice, no source


def mm(value: float) -> str:
    """Millimetres for reading: two decimals at most."""
    return f"{value:.2f}".rstrip("0").rstrip(".") + " mm"


def many(count: float, word: str, plural: str = "") -> str:
    """ "1 piece", "2 pieces"."""
    return f"{count:g} {word if count == 1 else plural or word + 's'}"


def ratio_findings(
    pair: PairOfPitches, at: tuple[str, ...], *, panel_first: bool = False
) -> list[Finding]:
    """The ratio of frame and panel, why it holds, and how much play it takes."""
    first, second = pair.first, pair.second
    if pair.ratio is None:
        near = pair.nearest
        word = (
            f" The nearest, {number(near.first_count)}:{near.second_count}, is "
            f"{mm(abs(float(near.misfit_mm)))} off."
            if near
            else ""
        )
        message = (
            f"{first.id} ({mm(float(first.length_mm))}) and {second.id} "
            f"({mm(float(second.length_mm))}) meet nowhere within {pair.most} {first.id}.{word} "
            f"Put an extra bearer under the panel joints or take another panel pitch."
        )
        measure = Measure(abs(float(near.misfit_mm)), float(near.play_mm), "mm") if near else None
        return [Finding("no-ratio", "watch", message, at, measure), *_inside(pair, at)]
    ratio = pair.ratio
    message = (
        f"{number(ratio.first_count)} × {first.id} meet {ratio.second_count} × {second.id}: "
        f"{_why(ratio)} Fix the floor to every {_nth(ratio, panel_first)}."
    )
    measure = Measure(abs(float(ratio.misfit_mm)), float(ratio.play_mm), "mm")
    found = [Finding("ratio-found", "ok", message, at, measure), *_inside(pair, at)]
    share = ratio.share_of_play
    if share is not None and share > FORCED:
        forced = (
            f"{number(ratio.first_count)}:{ratio.second_count} of {first.id} and {second.id} uses "
            f"{share:.0%} of the play, more than {FORCED:.0%}: expect the last rod of each repeat "
            f"to go in under force; lay one repeat as a trial before cutting."
        )
        found.append(Finding("ratio-forced", "watch", forced, at, Measure(share, FORCED, "1")))
    return found


def _why(ratio: Meeting) -> str:
    why = ratio.as_result()["why"]
    share = ratio.share_of_play
    if ratio.misfit_mm and share is not None:
        return f"{why[:-1]}, {mm(float(ratio.play_mm))}, and it uses {share:.0%} of it."
    return str(why)


def _nth(ratio: Meeting, panel_first: bool) -> str:
    """ "third bay": the frame pitch, whichever of the two it is."""
    frame = ratio.second if panel_first else ratio.first
    count = ratio.second_count if panel_first else int(ratio.first_count)
    return {1: "", 2: "second ", 3: "third "}.get(count, f"{count}th ") + frame.id


def _inside(pair: PairOfPitches, at: tuple[str, ...]) -> list[Finding]:
    if pair.inside is None:
        return []
    inside, nodes = pair.inside, pair.first.nodes
    steps = inside.first_count * nodes
    one = ""
    if len(pair.first.parts) == 1:
        one = f" = {number(steps)} {next(iter(pair.first.parts))}"
    message = (
        f"Inside a {pair.first.id} they meet sooner: {number(inside.first_count)} "
        f"× {pair.first.id}{one} meet {inside.second_count} × {pair.second.id}, since each "
        f"{pair.first.id} has a node after every 1/{nodes} of it. {_why(inside)} "
        f"{steps_in_words(pair.first, pair.second)} Use it where a bearer stands on that inner "
        f"node."
    )
    measure = Measure(abs(float(inside.misfit_mm)), float(inside.play_mm), "mm")
    return [Finding("ratio-inside-bay", "ok", message, at, measure)]


def common_findings(every: AllPitches, ids: Sequence[str], most: int) -> list[Finding]:
    """All pitches at once."""
    if every.repeats:
        repeat = every.repeats[0]
        counted = ", ".join(f"{n} × {i}" for n, i in zip(repeat.counts, ids, strict=True))
        message = (
            f"All pitches meet after {mm(float(repeat.length))}: {counted}; the runs differ by "
            f"{mm(float(repeat.spread))}. Let section joints fall there."
        )
        measure = Measure(float(repeat.spread), None, "mm")
        return [Finding("common-repeat", "ok", message, ("/pitches",), measure)]
    counted = ", ".join(f"{n} × {i}" for n, i in zip(every.nearest.counts, ids, strict=True))
    message = (
        f"No length up to {most} {ids[0]} is met by all pitches; the nearest is {counted}, "
        f"{mm(float(every.nearest.spread))} apart. Treat each frame pitch by its own ratio and "
        f"put a bearer where two of them come together."
    )
    return [Finding("no-common-repeat", "watch", message, ("/pitches",))]


def row_findings(way: str, row: Mapping[str, Any], names: tuple[str, str]) -> list[Finding]:
    """Left-over, adjusters and accumulated misfit of one direction."""
    bay, panel = names
    place = (f"/floor/{way}_mm",)
    counted = f"{row['panels_count']} × {panel} {way} {mm(row['length_mm'])}"
    if row["panels_count"] == 0:
        message = f"No whole {panel} of {mm(row['panel_mm'])} fits {way} {mm(row['length_mm'])}."
        return [Finding("panels-too-long", "stop", message, place)]
    left = Measure(row["left_over_mm"], row["joint_play_mm"], "mm")
    found = [_left_over(counted, way, row, place, left)]
    if row["adjusters"]:
        message = (
            f"{way.capitalize()}, panels and frame are {mm(abs(_adjuster_mm(row)))} apart after "
            f"{row['repeats_per_adjuster_count']} repeats, and one more would pass the joint play "
            f"of {mm(row['joint_play_mm'])}: {_adjusters(row)}"
        )
        found.append(Finding("adjusters-needed", "watch", message, place))
    elif row["repeats_count"]:
        message = (
            f"{way.capitalize()}, {row['repeats_count']} repeats fit without misfit: lay the floor "
            f"from the front edge, no adjuster between."
            if not row["misfit_accumulated_mm"]
            else f"{way.capitalize()}, the repeats ({row['repeats_count']}) add up to "
            f"{mm(abs(row['misfit_accumulated_mm']))} against a joint play of "
            f"{mm(row['joint_play_mm'])}; lay the floor loose from the front edge, no adjuster "
            f"between."
        )
        accumulated = Measure(abs(row["misfit_accumulated_mm"]), row["joint_play_mm"], "mm")
        found.append(Finding("misfit-within-play", "ok", message, place, accumulated))
    if len(row["meetings_mm"]) < 2 and row["bays_count"] > 1:
        message = (
            f"{way.capitalize()}, {len(row['meetings_mm'])} of {row['bays_count'] + 1} {bay} "
            f"bearers lie under a panel joint. {_extra(row)}"
        )
        found.append(Finding("joints-off-bearers", "watch", message, place))
    return found


def _extra(row: Mapping[str, Any]) -> str:
    if not row["extra_bearers_mm"]:
        return "Move the strip to the back edge or add bearers under the joints."
    at = ", ".join(f"{x:g}" for x in row["extra_bearers_mm"][:6])
    more = " …" if len(row["extra_bearers_mm"]) > 6 else ""
    return f"Add bearers at {at}{more} mm."


def _adjuster_mm(row: Mapping[str, Any]) -> float:
    return float(row["adjusters"][0]["end_mm"] - row["adjusters"][0]["start_mm"])


def _adjusters(row: Mapping[str, Any]) -> str:
    wide = _adjuster_mm(row)
    at = ", ".join(f"{piece['start_mm']:.0f}" for piece in row["adjusters"][:6])
    more = " …" if len(row["adjusters"]) > 6 else ""
    if wide > 0:
        return f"put an adjuster of {mm(wide)} at {at}{more} mm."
    return f"trim the panel before {at}{more} mm by {mm(-wide)}."


def _left_over(
    counted: str, way: str, row: Mapping[str, Any], place: tuple[str, ...], left: Measure
) -> Finding:
    rest = mm(row["left_over_mm"])
    edge = {"along": ("back", "front"), "across": ("far side", "near side")}[way]
    match row["action"]:
        case "none" if not row["left_over_mm"]:
            message = f"{counted} fill it exactly: no strip to cut."
            return Finding("floor-closes", "ok", message, place, left)
        case "none" if row["left_over_mm"] < 0:
            message = (
                f"{counted} are {mm(-row['left_over_mm'])} too long, within the joint play of "
                f"{mm(row['joint_play_mm'])}: press them in."
            )
            return Finding("floor-closes", "ok", message, place, left)
        case "none":
            message = (
                f"{counted} leave {rest}, within the joint play of {mm(row['joint_play_mm'])}: "
                f"leave it open."
            )
            return Finding("floor-closes", "ok", message, place, left)
        case "spread":
            message = (
                f"{counted} leave {rest}: spread it, {mm(row['gap_per_joint_mm'])} more to each "
                f"joint."
            )
            return Finding("left-over-spread", "ok", message, place, left)
        case "blocked":
            message = (
                f"{counted} leave {rest}, and every place for a strip lies under a landing or a "
                f"lane mouth, or is too narrow: move the landing or spread the left-over."
            )
            return Finding("strip-under-landing", "stop", message, place, left)
        case "two-halves":
            where = f"two strips of {mm(row['left_over_mm'] / 2)}, one at each edge"
        case action:
            where = f"one strip at the {edge[0] if action == 'back' else edge[1]}"
    message = f"{counted} leave {rest}: cut it as {where}, clear of landings and lane mouths."
    return Finding("left-over", "watch", message, place, left)


def shelf_findings(
    needed: int, on_hand: int, panel: str, *, at: str = "/floor/panels_on_hand_count"
) -> list[Finding]:
    """Panels against the shelf."""
    measure = Measure(needed, on_hand, "1")
    if needed > on_hand:
        message = f"The floor takes {needed} {panel}, {on_hand} are there: get {needed - on_hand}."
        return [Finding("panels-short", "stop", message, (at,), measure)]
    message = f"The floor takes {needed} of {on_hand} {panel}: set {on_hand - needed} aside."
    return [Finding("panels-enough", "ok", message, (at,), measure)]


def rolling_findings(report: Mapping[str, Any], rolling: Mapping[str, Any]) -> list[Finding]:
    """Does the ball roll, and out of what does it not."""
    found = _groove(report) if report["groove_mm"] else []
    arrival = rolling.get("arrival_speed_m_per_s")
    if arrival is not None and arrival < report["critical_speed_m_per_s"]:
        message = (
            f"Balls reach the first groove at {arrival:.3f} m/s and need "
            f"{report['critical_speed_m_per_s']:.3f} m/s to cross it: start them higher."
        )
        measure = Measure(arrival, report["critical_speed_m_per_s"], "m/s")
        at = ("/rolling/arrival_speed_m_per_s",)
        found.append(Finding("ball-too-slow", "stop", message, at, measure))
    if "ridge_speed_m_per_s" in report:
        found += _ridge(report, rolling)
    if "sag_slope_percent" in report:
        found += _sag(report)
    return found


def _groove(report: Mapping[str, Any]) -> list[Finding]:
    slope, groove = report["slope_percent"], report["groove_mm"]
    keep, leave = report["slope_to_keep_rolling_percent"], report["slope_to_leave_percent"]
    at = ("/rolling/slope_percent", "/rolling/groove_mm")
    if slope < keep:
        message = (
            f"A slope of {slope:g} % does not keep a ball rolling over grooves of {mm(groove)}; "
            f"{keep:.3f} % would, rolling resistance aside: make the floor steeper."
        )
        return [Finding("slope-too-flat", "stop", message, at, Measure(slope, keep, "%"))]
    found = []
    if "steady_speed_m_per_s" in report:
        fast = report["steady_arrival_speed_m_per_s"] > report["lift_off_speed_m_per_s"]
        critical = report["critical_speed_m_per_s"]
        enough = f"{critical:.3f} m/s" if critical else "on this slope any speed"
        hop = "; so fast they hop over part of a groove, count on a little more" if fast else ""
        message = (
            f"Balls settle to {report['steady_speed_m_per_s']:.2f} m/s and keep "
            f"{report['speed_kept_ratio']:.1%} of their speed at each groove; {enough} is enough "
            f"to cross one{hop}. Build catches and landings for that speed."
        )
        found.append(Finding("keeps-rolling", "ok", message, at, Measure(slope, keep, "%")))
    if slope < leave:
        message = (
            f"A ball that stops in a groove of {mm(groove)} stays there: it sits "
            f"{mm(report['sink_mm'])} deep and needs {leave:.1f} %, the floor has {slope:g} %. "
            f"Narrow the groove, or keep a stick at hand."
        )
        measure = Measure(slope, leave, "%")
        found.append(Finding("ball-traps-in-groove", "watch", message, at, measure))
    return found


def _ridge(report: Mapping[str, Any], rolling: Mapping[str, Any]) -> list[Finding]:
    needed = report["ridge_speed_m_per_s"]
    speed = rolling.get("arrival_speed_m_per_s", report.get("steady_speed_m_per_s"))
    at = ("/rolling/ridge_mm",)
    if speed is None:
        message = (
            f"A ridge of {mm(rolling['ridge_mm'])} stops balls below {needed:.3f} m/s: file it."
        )
        return [Finding("ridge-stops-slow-balls", "watch", message, at)]
    measure = Measure(speed, needed, "m/s")
    if speed < needed:
        message = (
            f"A ridge of {mm(rolling['ridge_mm'])} takes {needed:.3f} m/s, balls come at "
            f"{speed:.3f} m/s: file the edge down."
        )
        return [Finding("ridge-stops-ball", "stop", message, at, measure)]
    message = f"Balls pass the ridge at {speed:.3f} m/s; {needed:.3f} m/s would do. Leave it."
    return [Finding("ridge-passes", "ok", message, at, measure)]


def _sag(report: Mapping[str, Any]) -> list[Finding]:
    sag, slope = report["sag_slope_percent"], report["slope_percent"]
    measure = Measure(sag, slope, "%")
    if sag >= slope:
        message = (
            f"A panel sags to a slope of {sag:.2f} % at its bearers, the floor has {slope:g} %: "
            f"a hollow holds the ball. Shorten the span."
        )
        return [Finding("panel-sags", "stop", message, ("/rolling/sag",), measure)]
    message = (
        f"Panels sag to a slope of {sag:.2f} %, below the floor's {slope:g} %: leave the span."
    )
    return [Finding("sag-below-slope", "ok", message, ("/rolling/sag",), measure)]


def drop_findings(
    report: Mapping[str, Any], drop: Mapping[str, Any], strength: Mapping[str, Any] | None
) -> list[Finding]:
    """Wall, seats and the panel's orientation."""
    found = []
    if "wall_mm" in drop:
        found.append(_wall(report, drop["wall_mm"]))
    if strength is not None:
        found += _strength(report, strength)
    if "seat_force_high_n" in report and "seat_limit_n" in report:
        found.append(_seat(report))
    return found


def _wall(report: Mapping[str, Any], wall: float) -> Finding:
    needed, at = report["wall_needed_mm"], ("/drop/wall_mm",)
    measure = Measure(wall, needed, "mm")
    if wall < needed:
        message = (
            f"Balls rebound {mm(report['rebound_mm'])} and need a wall of {mm(needed)}; it is "
            f"{mm(wall)}: raise it or lower the drop."
        )
        return Finding("wall-too-low", "stop", message, at, measure)
    message = (
        f"The wall of {mm(wall)} keeps balls in that rebound {mm(report['rebound_mm'])} "
        f"({mm(needed)} needed): build it as planned."
    )
    return Finding("wall-holds", "ok", message, at, measure)


def _seat(report: Mapping[str, Any]) -> Finding:
    low, high = report["seat_force_low_n"], report["seat_force_high_n"]
    limit, at = report["seat_limit_n"], ("/drop/height_mm",)
    measure = Measure(high, limit, "N")
    hits = f"{report['hits_per_day_count']:.0f} hits a day"
    if high <= limit:
        message = (
            f"A hit loads a seat with {low:.0f} to {high:.0f} N, below {limit:.1f} N, so {hits} "
            f"add no slips: keep the drop."
        )
        return Finding("impact-under-seat", "ok", message, at, measure)
    level = "stop" if low > limit else "watch"
    message = (
        f"A hit loads a seat with {low:.0f} to {high:.0f} N and {limit:.1f} N is what it may take "
        f"again and again ({hits}): small slips add up. Lower the drop or lay felt."
    )
    return Finding("impact-over-seat", level, message, at, measure)


def _strength(report: Mapping[str, Any], strength: Mapping[str, Any]) -> list[Finding]:
    better = strength["better"]
    chosen = strength["on_edge" if better == "on-edge" else "flat"]
    worst, at = chosen["worst"], ("/panel_truss", "/drop/height_mm")
    found = [
        Finding(
            "orientation-chosen",
            "ok",
            f"Build the panel {better}: it carries {strength['advantage_ratio']:.1f} times the "
            f"force of the other way. {strength['why']}",
            ("/panel_truss",),
        )
    ]
    low, high = worst["utilisation_low_ratio"], worst["utilisation_high_ratio"]
    measure = Measure(high, 1.0, "1")
    where = (
        f"A hit {mm(worst['at_mm'])} from the bearer stands for {worst['force_low_n']:.0f} to "
        f"{worst['force_high_n']:.0f} N; the panel {better} slips at {worst['first_slip_n']:.0f} N "
        f"({worst['governed_by']})"
    )
    hits = f"{report['hits_per_day_count']:.0f} hits a day"
    if chosen["passes"]:
        message = f"{where}, {high:.0%} of what {hits} may take: keep the drop."
        return [*found, Finding("impact-under-seat", "ok", message, at, measure)]
    message = (
        f"{where}, {low:.0%} to {high:.0%} of what {hits} may take: lower the drop or lay felt."
    )
    level = "stop" if low > 1 else "watch"
    return [*found, Finding("impact-over-seat", level, message, at, measure)]


def ball_findings(diameter_mm: float) -> list[Finding]:
    """Small enough to choke on?"""
    if not is_small_ball(diameter_mm):
        return []
    message = (
        f"A ball of {mm(diameter_mm)} is a small ball (up to {mm(SMALL_BALL_MM)}): small children "
        f"can choke on it. Use larger balls or keep them out of reach."
    )
    measure = Measure(diameter_mm, SMALL_BALL_MM, "mm")
    return [Finding("small-ball", "watch", message, ("/ball/diameter_mm",), measure)]
