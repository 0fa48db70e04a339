"""What the builder should know of the route, in a sentence each."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure, Remedy

from ..grid_fit.findings import mm
from .remedies import ALL, Change
from .words import GOVERNS, attitude_words, how_words, size_words

Row = Mapping[str, Any]

MOST_CASES = 40


def route_findings(
    value: Row, changes: Sequence[Change], *, places: Mapping[str, str], little_mm: float
) -> list[Finding]:
    """Findings of a result; `places` are pointers to each section and box in the inputs."""
    groups = _groups(value)
    stuck = [group for group in groups if not group[0]["passes"]]
    found = [_sticking(group, value, changes, places) for group in stuck[:MOST_CASES]]
    if len(stuck) > MOST_CASES:
        message = f"{len(stuck) - MOST_CASES} more cases stick; the rows of the result hold them."
        found.append(Finding("more-cases-stick", "stop", message, ("/result/passages",)))
    for group in groups:
        if group[0]["passes"]:
            found += _passing(group, value, places, little_mm)
    found += _turnings(value)
    found += _library(value)
    if not stuck:
        found.append(_all_pass(value))
    return found


def _groups(value: Row) -> list[list[dict[str, Any]]]:
    """Rows of twins at one passage together, what sticks most first, then along the route."""
    twins = {one["id"]: one.get("twin_of", one["id"]) for one in value["sections"]}
    groups: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for place, row in enumerate(value["passages"]):
        key = (twins[row["section"]], row["passage"])
        groups.setdefault(key, []).append({**row, "place": place})
    order = {opening["id"]: k for k, opening in enumerate(value["openings"])}
    return sorted(
        groups.values(),
        key=lambda g: (g[0]["passes"], order[g[0]["passage"]], g[0]["place"]),
    )


def _who(group: Sequence[Row], value: Row) -> str:
    kinds = {one["id"]: one["kind"] for one in value["sections"]}
    names = [row["section"] for row in group]
    first = f"{kinds[names[0]]} {names[0]}"
    if len(names) == 1:
        return first
    if len(names) == 2:
        return f"{first} (and its twin {names[1]})"
    return f"{first} (and its {len(names) - 1} twins)"


def _title(row: Row, value: Row) -> str:
    titles = {opening["id"]: opening["title"] for opening in value["openings"]}
    return str(titles[row["passage"]])


def _at(group: Sequence[Row], places: Mapping[str, str]) -> tuple[str, ...]:
    return (
        *dict.fromkeys(places[row["section"]] for row in group),
        *(f"/result/passages/{row['place']}" for row in group),
    )


def _sticking(
    group: Sequence[Row], value: Row, changes: Sequence[Change], places: Mapping[str, str]
) -> Finding:
    row = group[0]
    who, stop = _who(group, value), _title(row, value)
    code, what = GOVERNS[row["governs"]]
    if row["governs"] in ("corner", "turn"):
        message = (
            f"{who} does not get round {what} at {stop}: {size_words(row)}, it misses by "
            f"{mm(-row['spare_mm'])} mm ({how_words(row)})."
        )
    elif "tight_axis" in row:
        message = (
            f"{who} is {size_words(row)} over all; {stop} leaves {mm(row['allowed_mm'])} mm, "
            f"{mm(-row['spare_mm'])} mm too little ({how_words(row)}"
            f"{'' if _turning_helps(row, value) else '; no turning helps'})."
        )
    else:
        message = (
            f"{who} does not get through {stop}: {what} leaves {mm(row['allowed_mm'])} mm and it "
            f"needs {mm(row['needed_mm'])} mm, {mm(-row['spare_mm'])} mm too little "
            f"({how_words(row)})."
        )
    if row["exactness"] == "conservative":
        message += " This is a careful estimate: try it with a cardboard outline."
    remedy = _remedy(group, changes)
    message += f" {remedy.message}" if remedy else " Make it smaller, or take another way in."
    measure = Measure(row["needed_mm"], row["allowed_mm"], "mm")
    return Finding(code, "stop", message, _at(group, places), measure, remedy)


def _turning_helps(row: Row, value: Row) -> bool:
    opening = next(o for o in value["openings"] if o["id"] == row["passage"])
    if row["obstacle"] != "opening" or row["governs"] not in ("width", "height"):
        return True
    one = next(s for s in value["sections"] if s["id"] == row["section"])
    smaller = min(opening["allowed_width_mm"], opening["allowed_height_mm"])
    return bool(min(one["outside_mm"].values()) <= smaller)


def _remedy(group: Sequence[Row], changes: Sequence[Change]) -> Remedy | None:
    """The simplest change that clears this; the one change of everything only where none does."""
    cases = {(row["section"], row["passage"]) for row in group}
    clear = [change for change in changes if cases <= set(change.clears)]
    if not clear:
        return None
    best = min(clear, key=lambda change: change.kind == ALL)
    return Remedy(best.message, best.patch)


def _passing(
    group: Sequence[Row], value: Row, places: Mapping[str, str], little_mm: float
) -> list[Finding]:
    row = group[0]
    who, stop, at = _who(group, value), _title(row, value), _at(group, places)
    spare = Measure(row["spare_mm"], 0.0, "mm")
    found = []
    ways = row["ways"]
    leaning = next((way for way in ways if way["attitude"] == "tilted"), None)
    lying = next((way for way in ways if way["attitude"] in ("on-back", "on-end")), None)
    if leaning is not None:
        message = (
            f"{who} passes {stop} only {attitude_words(leaning)}, with "
            f"{mm(leaning['spare_mm'])} mm to spare; try it before the day."
        )
        found.append(Finding("passes-only-tilted", "watch", message, at, spare))
    elif lying is not None:
        message = (
            f"{who} passes {stop} only {how_words(lying)}, with {mm(row['spare_mm'])} mm to "
            "spare. Check its strength in that position."
        )
        found.append(Finding("passes-only-turned", "watch", message, at, spare))
    skid = next((way for way in ways if way["carried"] == "on-skid"), None)
    if skid is not None:
        message = (
            f"{who} gets round at {stop} only on a skid, with {mm(skid['spare_mm'])} mm to spare; "
            "with a carrier at each end it sticks."
        )
        remedy = Remedy("Bring a skid with wheels that swivel.")
        found.append(
            Finding(
                "passes-only-on-skid", "watch", f"{message} {remedy.message}", at, spare, remedy
            )
        )
    level = next((way for way in ways if way["obstacle"] == "flight"), None)
    if level is not None and level["how"] == "level":
        message = (
            f"{who} goes up {stop} kept level: whoever is below holds it "
            f"{mm(_lower_end(level, row, value))} mm higher than whoever is above. Try it empty "
            "first, with the stronger person below."
        )
        found.append(Finding("level-on-stairs", "watch", message, at))
    if row["spare_mm"] < little_mm:
        message = (
            f"{who} passes {stop} with {mm(row['spare_mm'])} mm to spare "
            f"({GOVERNS[row['governs']][1]}, {how_words(row)}); measure it with a tape before "
            "you go."
        )
        limit = Measure(row["spare_mm"], little_mm, "mm")
        found.append(Finding("passes-with-little-to-spare", "watch", message, at, limit))
    return found


def _lower_end(way: Row, row: Row, value: Row) -> float:
    flight = next(o for o in value["openings"] if o["id"] == row["passage"])["flight"]
    return float(way["length_mm"] * flight["rise_mm"] / flight["going_mm"])


def _turnings(value: Row) -> list[Finding]:
    """Ceilings for laying down and standing up; of twins the first, of what gets through."""
    shown = {one["id"] for one in value["sections"] if one["passes"] and "twin_of" not in one}
    titles = {opening["id"]: opening["title"] for opening in value["openings"]}
    found = []
    for place, turning in enumerate(value["turnings"]):
        if turning["section"] not in shown or turning.get("fits") is True:
            continue
        where = _between(turning, titles)
        need = turning["height_needed_mm"]
        words = f"{turning['section']} must be turned {where}, and that takes {mm(need)} mm"
        at = (f"/result/turnings/{place}",)
        if "ceiling_mm" in turning:
            high = turning["ceiling_mm"]
            message = (
                f"{words} of ceiling; there are {mm(high)} mm. Turn it where there is more "
                "height, and carry it lying from there."
            )
            measure = Measure(need, high, "mm")
            found.append(Finding("turning-needs-higher-ceiling", "stop", message, at, measure))
        else:
            message = f"{words} of ceiling. Measure the ceiling there, lamps and beams included."
            found.append(
                Finding("turning-needs-ceiling", "watch", message, at, Measure(need, None, "mm"))
            )
    return found


def _between(turning: Row, titles: Mapping[str, str]) -> str:
    after, before = turning.get("after"), turning.get("before")
    if after is None:
        return f"before {titles[before or '']}"
    if before is None:
        return f"after {titles[after]}"
    return (
        f"between {titles[after]} and {titles[before]}"
        if after != before
        else (f"at {titles[after]}")
    )


def _library(value: Row) -> list[Finding]:
    number = {opening["id"]: k for k, opening in enumerate(value["openings"])}
    titles = {opening["id"]: opening["title"] for opening in value["openings"]}
    found = []
    for entry in value["library"]:
        names = ", ".join(titles[id] for id in entry["passages"])
        bound = (
            " The clear opening is smaller still: this is the size of the leaf."
            if entry["upper_bound"]
            else ""
        )
        message = (
            f"{names}: sizes come from {entry['source']} ({entry['clause']}), not from the door "
            f"itself.{bound} Measure it, held open, at its narrowest."
        )
        at = tuple(f"/passages/{number[id]}" for id in entry["passages"])
        found.append(Finding("measure-the-opening", "watch", message, at))
    return found


def _all_pass(value: Row) -> Finding:
    row = value["governing"]
    count = len(value["sections"])
    who = "It passes" if count == 1 else ("Both pass" if count == 2 else f"All {count} pass")
    message = (
        f"{who} every passage on the route; {row['section']} at {_title(row, value)} governs, "
        f"{mm(row['spare_mm'])} mm to spare ({GOVERNS[row['governs']][1]}, "
        f"{row['attitude'].replace('-', ' ')})."
    )
    measure = Measure(row["spare_mm"], 0.0, "mm")
    return Finding("all-sections-pass", "ok", message, ("/result/governing",), measure)
