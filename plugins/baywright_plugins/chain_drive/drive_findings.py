"""What a builder should know of torque, motor, fuse, comb, loading, cage and guard."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Finding, Inputs, Measure, Remedy

from ..cautions import CHILD, GROWN, crushing_gap_mm

Value = Mapping[str, Any]


def drive_findings(inputs: Inputs, value: Value) -> list[Finding]:
    """Each part of the result that the inputs asked for."""
    parts = (
        ("torque", _pull),
        ("torque", _backstop),
        ("motors", _motors),
        ("fuse", _fuse),
        ("comb", _comb),
        ("loading", _loading),
        ("hinge", _hinge),
        ("guard", _guard),
    )
    return [f for key, found in parts if key in value for f in found(inputs, value)]


def _pull(inputs: Inputs, value: Value) -> list[Finding]:
    torque = value["torque"]
    if "allowed_pull_n" not in torque:
        return []
    pull, allowed = torque["chain_pull_n"], torque["allowed_pull_n"]
    why = _why(inputs, torque)
    words = f"The chain is pulled with {pull:.0f} N; {allowed:.0f} N are allowed ({why})."
    measure = Measure(pull, allowed, "N")
    if pull <= allowed:
        return [Finding("chain-strong-enough", "ok", words, ("/chain",), measure)]
    remedy = Remedy("Take a stronger chain, a larger hook spacing, or fewer balls on a hook.")
    return [Finding("chain-overloaded", "stop", words, ("/chain",), measure, remedy)]


def _why(inputs: Inputs, torque: Value) -> str:
    if torque["allowed_pull_n"] == torque.get("printed_working_load_n"):
        return "the working load its table prints"
    return (
        f"breaking load {torque['breaking_load_n']:.0f} N over {inputs['chain']['load_factor']:g}"
    )


def _backstop(inputs: Inputs, value: Value) -> list[Finding]:
    torque, at = value["torque"], ("/backstop",)
    back = torque["run_back_torque_n_m"]
    if "backstop" in inputs:
        holds, needed = inputs["backstop"]["holding_torque_n_m"], torque["hold_needed_n_m"]
        words = f"The backstop holds {holds:.3g} N m; the full hooks ask for {needed:.3g} N m."
        measure = Measure(holds, needed, "N.m")
        if holds >= needed:
            return [Finding("lift-held", "ok", words, at, measure)]
        remedy = Remedy("Fit a stronger backstop or a self-locking worm gear at the head shaft.")
        return [Finding("backstop-too-weak", "stop", words, at, measure, remedy)]
    left = torque["run_back_after_friction_n_m"]
    words = (
        f"Nothing is named that holds the full hooks when power fails: they turn the shaft back "
        f"with {back:.3g} N m, of which friction may leave {left:.3g} N m."
    )
    remedy = Remedy("Fit a backstop or a self-locking worm gear, and enter what it holds.")
    return [Finding("no-backstop", "watch", words, at, Measure(left, 0.0, "N.m"), remedy)]


def _motors(inputs: Inputs, value: Value) -> list[Finding]:
    needed, at = value["torque"]["needed_torque_n_m"], ("/motors",)
    turns = value["motion"]["shaft_turns_per_min"]
    best = next((r for r in value["motors"] if r["id"] == value.get("best_motor")), None)
    if best is None:
        most = max(row["shaft_torque_n_m"] for row in value["motors"])
        words = (
            f"None of the motors brings {needed:.3g} N m at {turns:.1f} turns a minute to the "
            f"head shaft; the strongest brings {most:.3g} N m."
        )
        remedy = Remedy("Change the gear, or take a motor with this torque at this speed.")
        return [Finding("no-motor-fits", "stop", words, at, Measure(most, needed, "N.m"), remedy)]
    words = (
        f"Motor {best['id']} brings {best['shaft_torque_n_m']:.3g} N m to the head shaft, "
        f"{best['margin_ratio']:.2f} times the {needed:.3g} N m needed."
    )
    measure = Measure(best["shaft_torque_n_m"], needed, "N.m")
    found = [Finding("motor-fits", "ok", words, at, measure)]
    stall = best.get("stall_torque_n_m")
    breaks = value["fuse"]["weak_points"][0] if "fuse" in value else None
    slips = "setting_n_m" in inputs.get("fuse", {})
    if stall is not None and breaks is not None and stall > breaks["torque_n_m"] and not slips:
        words = (
            f"Held still, motor {best['id']} gives {stall:.3g} N m; {breaks['id']} lets go at "
            f"{breaks['torque_n_m']:.3g} N m."
        )
        measure = Measure(stall, breaks["torque_n_m"], "N.m")
        remedy = Remedy("Fit a slipping clutch or a current limit inside the window.")
        found.append(Finding("motor-breaks-it", "stop", words, at, measure, remedy))
    return found


def _fuse(inputs: Inputs, value: Value) -> list[Finding]:
    fuse, at = value["fuse"], ("/fuse", "/weak_points")
    low, high, weakest = fuse["low_n_m"], fuse["high_n_m"], fuse["weakest"]
    if not fuse["open"]:
        words = (
            f"No fuse can protect it: it must not slip below {low:.3g} N m, and {weakest} allows "
            f"{high:.3g} N m."
        )
        remedy = Remedy(f"Strengthen {weakest}, or lower the torque by fewer loaded hooks.")
        return [Finding("no-fuse-window", "stop", words, at, Measure(high, low, "N.m"), remedy)]
    if "setting_low_n_m" not in fuse:
        words = (
            f"A fuse or clutch has to slip between {low:.3g} and {high:.3g} N m ({weakest} lets "
            f"go first); set it to {fuse['best_setting_n_m']:.3g} N m."
        )
        measure = Measure(fuse["best_setting_n_m"], high, "N.m")
        return [Finding("fuse-window-open", "ok", words, at, measure)]
    remedy = Remedy(f"Set it to {fuse['best_setting_n_m']:.3g} N m.")
    if fuse["scatter_allowed_percent"] < inputs["fuse"]["tolerance_percent"]:
        most = fuse["scatter_allowed_percent"]
        remedy = Remedy(f"Take a fuse that scatters by at most {most:.1f} percent.")
    bottom, top = fuse["setting_low_n_m"], fuse["setting_high_n_m"]
    found = []
    if bottom < low:
        words = f"The fuse may slip at {bottom:.3g} N m; starts and jams ask for {low:.3g} N m."
        measure = Measure(bottom, low, "N.m")
        found.append(Finding("fuse-slips-too-soon", "watch", words, at, measure, remedy))
    if top > high:
        words = f"The fuse may hold up to {top:.3g} N m; {weakest} allows {high:.3g} N m."
        measure = Measure(top, high, "N.m")
        found.append(Finding("fuse-slips-too-late", "stop", words, at, measure, remedy))
    if not found:
        words = f"The fuse slips between {bottom:.3g} and {top:.3g} N m, inside its window."
        found.append(Finding("fuse-fits", "ok", words, at, Measure(top, high, "N.m")))
    return found


def _comb(inputs: Inputs, value: Value) -> list[Finding]:
    comb, given = value["comb"], inputs["comb"]
    side, wanted = comb["binding_side"], given["clearance_wanted_mm"]
    tight = comb["clearances"][2 * comb["binding_tooth"] + (side == "right")]
    worst, likely = tight["worst_mm"], tight["likely_mm"]
    where = f"tooth {comb['binding_tooth'] + 1} against rib {comb['binding_rib'] + 1} on its {side}"
    found = []
    if "ball" in inputs and comb["gap_mm"] >= inputs["ball"]["diameter_mm"]:
        size = inputs["ball"]["diameter_mm"]
        words = (
            f"A ball of {size:g} mm falls through the tongue: its gaps are {comb['gap_mm']:g} mm."
        )
        remedy = Remedy("Set the ribs closer.")
        measure = Measure(comb["gap_mm"], size, "mm")
        found.append(Finding("ball-falls-through", "stop", words, ("/comb",), measure, remedy))
    words = (
        f"Tightest is {where}: {tight['nominal_mm']:.2f} mm as drawn, {likely:.2f} mm by "
        f"root-sum-square, {worst:.2f} mm at worst; {wanted:g} mm are wanted."
    )
    measure = Measure(worst, wanted, "mm")
    if worst >= wanted - 1e-9:
        return [*found, Finding("hooks-clear-the-tongue", "ok", words, ("/comb",), measure)]
    touches = comb["least_likely_mm"] <= 0
    code, level = ("hooks-hit-the-tongue", "stop") if touches else ("tongue-tight", "watch")
    remedy = _comb_remedy(comb, wanted, worst)
    return [*found, Finding(code, level, words, ("/comb",), measure, remedy)]


def _comb_remedy(comb: Value, wanted: float, worst: float) -> Remedy:
    shift = comb["best_offset_mm"]
    if comb["best_worst_mm"] >= wanted and abs(shift) > 0.005:
        side = "right" if shift > 0 else "left"
        return Remedy(f"Move the hook {abs(shift):.2f} mm to the {side}.")
    if comb["best_datum_worst_mm"] >= wanted > worst:
        return Remedy(f"Place the ribs from rib {comb['best_datum_rib'] + 1} outwards.")
    if comb["widest_tooth_mm"] > 0:
        return Remedy(
            f"Make the teeth {comb['widest_tooth_mm']:.2f} mm wide or less, or the gaps "
            f"{comb['narrowest_gap_mm']:.2f} mm or more."
        )
    return Remedy(f"Make the gaps {comb['narrowest_gap_mm']:.2f} mm or more, or fewer ribs.")


def _loading(inputs: Inputs, value: Value) -> list[Finding]:
    row, given, at = value["loading"], inputs["loading"], ("/loading",)
    free, roll, steep = row["free_s"], row.get("roll_s"), row.get("steepness_needed_deg")
    fast = row.get("fastest_chain_mm_s")
    if roll is None:
        words = f"On a slope of {given['slope_deg']:g} degrees the ball does not roll at all."
        measure = Measure(given["slope_deg"], steep, "deg")
    else:
        allowed = max(0.0, free) / given["time_margin"]
        words = (
            f"The next ball needs {roll:.2f} s onto the hook; its way is free for "
            f"{max(0.0, free):.2f} s, {allowed:.2f} s with the margin."
        )
        measure = Measure(roll, allowed, "s")
        if roll <= allowed:
            return [Finding("ball-comes-in-time", "ok", words, at, measure)]
    if steep is not None:
        remedy = Remedy(f"Slope the tongue by {steep:.1f} degrees or more.")
    elif fast:
        remedy = Remedy(f"Run the chain at {fast:.0f} mm/s or less, or space hooks wider.")
    else:
        remedy = Remedy("Space the hooks wider than a ball and a hook, or shorten its way.")
    return [Finding("ball-comes-too-late", "stop", words, at, measure, remedy)]


def _hinge(inputs: Inputs, value: Value) -> list[Finding]:
    hinge, given, at = value["hinge"], inputs["hinge"], ("/hinge",)
    found = []
    room = hinge.get("room_sideways_mm")
    if room is not None:
        words = (
            f"Closed again, the cage may stand {hinge['sideways_mm']:.2f} mm to either side; the "
            f"running clearance leaves {room:.2f} mm."
        )
        measure = Measure(hinge["sideways_mm"], room, "mm")
        if hinge["sideways_mm"] <= room + 1e-9:
            found.append(Finding("cage-closes-true", "ok", words, at, measure))
        else:
            remedy = Remedy(
                f"Fit a locating cone at the tongue that repeats within {room:.2f} mm, or hinges "
                f"with at most {hinge['most_play_mm']:.2f} mm of play."
                if room > 0
                else "Open the comb first: it has no clearance left for the cage."
            )
            found.append(Finding("cage-out-of-line", "stop", words, at, measure, remedy))
    depth = given.get("depth_clearance_mm")
    if depth is not None and hinge["depth_mm"] > depth:
        words = (
            f"The cage may stand {hinge['depth_mm']:.2f} mm nearer to the tongue; {depth:g} mm "
            "are free."
        )
        measure = Measure(hinge["depth_mm"], depth, "mm")
        remedy = Remedy("Set a stop at the tongue's height, or a latch without play further out.")
        found.append(Finding("cage-too-deep", "stop", words, at, measure, remedy))
    return found


def _guard(inputs: Inputs, value: Value) -> list[Finding]:
    guard, given = value["guard"], inputs["guard"]
    found = []
    child = given["children_present"]
    age, key = (CHILD, "needed_child_mm") if child else (GROWN, "needed_grown_mm")
    if "shape" in given and "opening_mm" in given:
        needed, behind = guard.get(key), given.get("behind_mm")
        what = f"A {given['shape']} opening of {given['opening_mm']:g} mm"
        remedy = Remedy("Close the guard with a finer mesh, or move it further from the chain.")
        at = ("/guard/opening_mm",)
        if needed is None:
            words = f"{what} lets more than an arm through: it guards nothing."
            measure = Measure(given["opening_mm"], None, "mm")
            found.append(Finding("guard-open", "stop", words, at, measure, remedy))
        elif behind is not None and behind < needed:
            words = (
                f"{what} asks for {needed:g} mm to the danger (from {age} years); it lies "
                f"{behind:g} mm behind."
            )
            measure = Measure(behind, needed, "mm")
            found.append(Finding("fingers-reach-the-drive", "stop", words, at, measure, remedy))
    for number, gap in enumerate(given["closing_gaps"]):
        if gap["id"] in guard["pinching_gaps"]:
            keep = crushing_gap_mm("finger")
            words = f"Gap {gap['id']} closes to {gap['gap_mm']:g} mm: it pinches a finger."
            remedy = Remedy(f"Keep {keep:g} mm open, or at most 4 mm, or cover it.")
            measure = Measure(gap["gap_mm"], keep, "mm")
            at = (f"/guard/closing_gaps/{number}/gap_mm",)
            found.append(Finding("gap-pinches", "stop", words, at, measure, remedy))
    return found
