"""What the builder should know about carrying and standing. Reads the result."""

from collections.abc import Iterator, Mapping
from typing import Any

from baywright_service.contract import Caution, Finding, Measure, Remedy

from ..cautions import lifting_cautions
from .support import TEST_DEG

Row = Mapping[str, Any]

#: Starting a load on wheels by hand, N (20 kgf for men, 15 for women).
PUSH_N = (200.0, 150.0)


def findings_of(value: Row, inputs: Row) -> list[Finding]:
    """Most important first."""
    found = [*_leaning(value, inputs), *_machine(value)]
    for number, row in enumerate(value["sections"]):
        found += [*_carrying(number, row), *_standing(number, row), *_castors(number, row, inputs)]
        found += _van(number, row)
    found += [*_pitching(value, inputs), *_hold(value), *_set_up(value)]
    order = {"stop": 0, "watch": 1, "ok": 2}
    return sorted(found, key=lambda finding: order[finding.level])


def cautions_of(value: Row) -> tuple[Caution, ...]:
    """Lifting cautions for the heaviest section, with the people it takes."""
    row = max(value["sections"], key=lambda each: each["mass_kg"])
    return lifting_cautions(row["mass_kg"], row.get("people_count", 3))


def _leaning(value: Row, inputs: Row) -> Iterator[Finding]:
    machine = value["machine"]
    standing = machine["standing"]
    lean = inputs["leaning"]
    at, most = standing["lean_at_mm"], standing["lean_most_n"]
    measure = Measure(lean["force_n"], most, "N")
    where = ("/machine/standing/lean_most_n",)
    if standing["lean_ok"]:
        yield Finding(
            "machine-stands-when-leaned-on", "ok",
            f"The machine stands somebody leaning with {lean['force_n']:.0f} N at {at:.0f} mm; "
            f"it bears {most:.0f} N.", where, measure,
        )  # fmt: skip
        return
    if "tie_n" in machine:
        yield Finding(
            "machine-held-by-ties", "watch",
            f"Only its ties keep the machine up when somebody leans with {lean['force_n']:.0f} N: "
            f"let each way hold {machine['tie_n']:.0f} N at "
            f"{inputs['holding']['tie_height_mm']:.0f} mm, wall fixing included.",
            ("/machine/tie_n",), Measure(machine["tie_n"], None, "N"),
        )  # fmt: skip
        return
    proven = [row for row in machine["remedies"] if row["proven"]]
    patch = next((row for row in proven if row["kind"] in ("ballast", "outriggers")), None)
    words = " Or: ".join(row["message"] for row in machine["remedies"] if row is not patch)
    yield Finding(
        "machine-tips-when-leaned-on", "stop",
        f"The machine tips to the {standing['toward']} when somebody leans with "
        f"{lean['force_n']:.0f} N at {at:.0f} mm: that is {standing['lean_moment_nm']:.0f} Nm "
        f"against {standing['holding_moment_nm']:.0f} Nm, and {most:.0f} N is the most with the "
        f"factors {lean['restoring_factor']:g} and {lean['overturning_factor']:g}. {words}".strip(),
        where, measure,
        None if patch is None else Remedy(patch["message"], patch["patch"]),
    )  # fmt: skip


def _machine(value: Row) -> Iterator[Finding]:
    machine = value["machine"]
    standing = machine["standing"]
    yield from _stands("The machine", "machine", standing, "/machine/standing")
    if standing["tip_deg"] >= TEST_DEG:
        yield Finding(
            "machine-tip-angle", "ok",
            f"Coupled, the machine of {machine['mass_kg']:.1f} kg tips at "
            f"{standing['tip_deg']:.1f} degrees to the {standing['toward']}; "
            f"{TEST_DEG:g} are asked for.",
            ("/machine/standing/tip_deg",), Measure(standing["tip_deg"], TEST_DEG, "deg"),
        )  # fmt: skip
    if not machine["coupled"]:
        yield Finding(
            "machine-not-coupled", "watch",
            "Not all sections are coupled, so the machine does not stand as one: read the rows of "
            "single sections, or couple them.", ("/machine/coupled",),
        )  # fmt: skip


def _stands(what: str, code: str, row: Row, at: str) -> Iterator[Finding]:
    state = " on its castors" if row["state"] == "on castors" else ""
    angle = row["tip_deg"]
    if row["slope_left_deg"] <= 0:
        yield Finding(
            f"{code}-falls-over", "stop",
            f"{what}{state} does not stand by itself: its centre of mass is {-row['lever_mm']:.0f} "
            f"mm outside its feet on the {row['toward']}, or the floor's slope takes it there. "
            "Widen the base or hold it at all times.",
            (f"{at}/tip_deg",), Measure(row["slope_left_deg"], 0.0, "deg"),
        )  # fmt: skip
        return
    if not row["ten_degree_ok"]:
        yield Finding(
            f"{code}-tips-below-ten-degrees", "stop",
            f"{what}{state} tips at {angle:.1f} degrees to the {row['toward']}, below "
            f"{TEST_DEG:g}: widen its base or lower its centre of {row['centre_mm']:.0f} mm.",
            (f"{at}/tip_deg",), Measure(angle, TEST_DEG, "deg"),
        )  # fmt: skip
    if not row["push_test_ok"]:
        yield Finding(
            f"{code}-fails-push-test", "watch",
            f"{what}{state} tips at a push of {row['push_tips_n']:.0f} N at "
            f"{row['push_test_at_mm']:.0f} mm; the test asks for {row['push_test_n']:.0f} N. "
            "Hold it, or couple it before letting go.",
            (f"{at}/push_tips_n",), Measure(row["push_tips_n"], row["push_test_n"], "N"),
        )  # fmt: skip
    if not row["down_test_ok"]:
        yield Finding(
            f"{code}-fails-weight-test", "watch",
            f"{what}{state} tips when {row['down_test_n']:.0f} N press down on what sticks out "
            f"{row['overhang_mm']:.0f} mm beyond its feet: move the feet outward, or keep people "
            "from sitting and stepping there.",
            (f"{at}/overhang_mm",), Measure(row["down_test_n"], None, "N"),
        )  # fmt: skip


def _carrying(number: int, row: Row) -> Iterator[Finding]:
    at = f"/sections/{number}"
    name, mass = row["id"], row["mass_kg"]
    level = row["ways"][0]
    people = row.get("people_count")
    if people is None:
        bears = level.get("team_bears_kg", 0.0)
        yield Finding(
            "too-heavy-to-carry", "stop",
            f"{name} weighs {mass:.1f} kg; the crew bears {bears:.1f} kg with up to three at its "
            "grips, and no rule supports more: halve it, take fittings off, or put it on wheels.",
            (f"{at}/mass_kg",), Measure(mass, bears, "kg"),
        )  # fmt: skip
    else:
        size = f", {max(row['size_mm']):.0f} mm long" if row["why"] == "size" else ""
        yield Finding(
            "people-to-carry", "ok",
            f"Carry {name} ({mass:.1f} kg{size}) with {_people(people)}"
            f"{_stairs_words(row)}.",
            (f"{at}/people_count",), Measure(mass, level.get("team_bears_kg"), "kg"),
        )  # fmt: skip
    if len(row["ways"]) > 2 and "people_stairs_count" not in row and people is not None:
        ends = row["ways"][2]["ends"]
        yield Finding(
            "not-on-stairs", "watch",
            f"On stairs the lower end of {name} takes {ends[0]['share_kg']:.1f} of {mass:.1f} kg, "
            "more than up to three of the crew bear there: take another way, or take it apart.",
            (f"{at}/ways/2",), Measure(ends[0]["share_kg"], None, "kg"),
        )  # fmt: skip
    indices = [row["lifting"][end].get("index_ratio") for end in ("origin", "destination")]
    worst = None if None in indices else max(indices)
    if people is not None and (worst is None or worst > 1 + 1e-9):
        shown = "beyond the equation" if worst is None else f"{worst:.2f}"
        yield Finding(
            "lifting-index-above-one", "watch",
            f"Lifting {name} with {_people(people)} has a lifting index of {shown}, above 1: one "
            "person more, grips nearer to 750 mm, or hands closer to the body.",
            (f"{at}/lifting",), None if worst is None else Measure(worst, 1.0),
        )  # fmt: skip


def _people(count: int) -> str:
    return "one person" if count == 1 else f"{count} people"


def _stairs_words(row: Row) -> str:
    count = row.get("people_stairs_count")
    if count is None:
        return ""
    low = row["ways"][2]["ends"][0]
    return f", {count} on stairs: {low['end']} low, {low['share_kg']:.1f} kg there"


def _standing(number: int, row: Row) -> Iterator[Finding]:
    for k, state in enumerate(row["standing"]):
        at = f"/sections/{number}/standing/{k}"
        code = "section" if k == 0 else "section-on-castors"
        yield from _stands(row["id"], code, state, at)


def _castors(number: int, row: Row, inputs: Row) -> Iterator[Finding]:
    at = f"/sections/{number}/castors"
    name = row["id"]
    if "castors" not in row:
        return
    castors = row["castors"]
    if castors.get("rated_ok") is False:
        needed = max(castors["design_kg"], castors["worst_n"] / inputs["gravity_m_s2"])
        yield Finding(
            "castor-too-weak", "stop",
            f"A castor under {name} is rated {inputs['trolley']['rated_kg']:g} kg; take ones for "
            f"{needed:.1f} kg, since one of four may hang free.",
            (f"{at}/design_kg",), Measure(inputs["trolley"]["rated_kg"], needed, "kg"),
        )  # fmt: skip
    if "push_ratio" not in castors:
        yield Finding(
            "step-too-high", "stop",
            f"A threshold of {castors['step_mm']:g} mm is as high as the axle under {name}: lay a "
            "wedge or lift it over.", (f"{at}/step_mm",),
            Measure(castors["step_mm"], inputs["trolley"]["wheel_radius_mm"], "mm"),
        )  # fmt: skip
    elif castors.get("push_n", 0.0) > PUSH_N[0]:
        yield Finding(
            "hard-push-at-the-step", "watch",
            f"{name} asks for {castors['push_n']:.0f} N at the {castors['step_mm']:g} mm "
            f"threshold; {PUSH_N[0]:.0f} N is a usual limit for starting a load: push with two or "
            "lay a wedge.", (f"{at}/push_n",), Measure(castors["push_n"], PUSH_N[0], "N"),
        )  # fmt: skip


def _pitching(value: Row, inputs: Row) -> Iterator[Finding]:
    """All sections that pitch over their leading wheels before these climb, in one finding."""
    found = [
        (number, row)
        for number, row in enumerate(value["sections"])
        if "push_below_mm" in row.get("castors", {}) and "push_n" not in row["castors"]
    ]
    if not found:
        return
    trolley = inputs["trolley"]
    number, row = min(found, key=lambda each: each[1]["castors"]["push_below_mm"])
    below = row["castors"]["push_below_mm"]
    names = ", ".join(each["id"] for _, each in found)
    one = len(found) == 1
    yield Finding(
        "pitches-at-the-step", "watch",
        f"Pushed at the grips, {names} {'pitches' if one else 'pitch'} over the leading wheels at "
        f"the {trolley['step_mm']:g} mm threshold, which asks for a push of "
        f"{row['castors']['push_ratio']:.2f} times the wheels' load: push below {below:.0f} mm"
        f"{'' if one else ' (' + row['id'] + ', the lowest)'}, lift the leading wheels over, or "
        "lay a wedge.",
        (f"/sections/{number}/castors/push_below_mm",),
        Measure(row["grips"]["height_mm"] + trolley["raised_mm"], below, "mm"),
    )  # fmt: skip


def _van(number: int, row: Row) -> Iterator[Finding]:
    van = row["van"]
    if van["upright_ok"]:
        return
    yield Finding(
        "lie-down-in-the-van", "watch",
        f"{row['id']} upright in the van would tip {van['when']}: half its base over the height "
        f"of its centre is {van['ratio']:.2f}, {van['limit_ratio']:g} is wanted. Lie it down and "
        "strap it.",
        (f"/sections/{number}/van/ratio",), Measure(van["ratio"], van["limit_ratio"]),
    )  # fmt: skip


def _hold(value: Row) -> Iterator[Finding]:
    """The section that falls most easily before it is coupled."""
    states = [(k, row["id"], row["standing"][0]) for k, row in enumerate(value["sections"])]
    number, name, state = min(states, key=lambda each: each[2]["lean_tips_n"])
    if len(states) < 2 or state["lean_ok"]:
        return
    yield Finding(
        "hold-until-coupled", "watch",
        f"Alone, {name} tips to the {state['toward']} at a push of {state['lean_tips_n']:.0f} N at "
        f"{state['lean_at_mm']:.0f} mm, the least of all sections: keep a hand on every section "
        "until it is coupled.",
        (f"/sections/{number}/standing/0/lean_tips_n",),
        Measure(state["lean_tips_n"], state["lean_moment_nm"] * 1000 / state["lean_at_mm"], "N"),
    )  # fmt: skip


def _set_up(value: Row) -> Iterator[Finding]:
    set_up = value["set_up"]
    if len(set_up["steps"]) < 2:
        return
    least = set_up["least_tip_deg"]
    names = ", ".join(step["section"] for step in set_up["steps"])
    other = ""
    worst = set_up.get("worst_order_deg")
    if worst is not None and worst < least - 0.05:
        other = f" In the worst order it is {worst:.1f}."
    yield Finding(
        "set-up-order", "ok" if least >= TEST_DEG else "stop",
        f"Set up in the order {names}, and couple each one before you let go of it: then what "
        f"stands tips at {least:.1f} degrees or more; {TEST_DEG:g} are asked for.{other}",
        ("/set_up/steps",), Measure(least, TEST_DEG, "deg"),
    )  # fmt: skip
