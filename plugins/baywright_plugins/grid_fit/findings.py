"""What the builder should know, in a sentence each."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure, Remedy

from .changes import Change, joined, number_word

_DIMENSION = {"x": "wide", "y": "deep", "z": "high"}
_CODE = {"width": "section-too-wide", "height": "section-too-tall", "depth": "section-too-long"}
_LYING = {"on-back": "laid on its back", "on-end": "laid on its end"}

Row = Mapping[str, Any]


def mm(value: float) -> str:
    """A length as people read it: at most one decimal.

    >>> mm(754.0), mm(168.75)
    ('754', '168.8')
    """
    return f"{round(value, 1):g}" if abs(value) < 1e5 else f"{value:.0f}"


def rods_text(rods: Sequence[Row]) -> str:
    """Rods of a row in words."""
    return " + ".join(f"{row['count']} {row['rod']}" for row in rods)


def passage_findings(
    rows: Sequence[Row],
    twins: Mapping[str, str],
    titles: Mapping[str, str],
    kinds: Mapping[str, str],
    changes: Sequence[Change],
    *,
    over_hubs_mm: Mapping[str, Mapping[str, float]],
    places: Mapping[str, str],
    little_mm: float,
) -> list[Finding]:
    """Findings of every section in every passage; twins share theirs.

    `kinds` tells sections from boxes ("Section S2", "Box trolley"); `over_hubs_mm` are sizes
    without what sticks out; `places` are pointers to each of them in the inputs.
    """
    found: list[Finding] = []
    for group in _alike(rows, twins):
        row = group[0]
        who = _who([r["section"] for r in group], kinds)
        stop = titles[row["passage"]]
        at = (
            *(places[r["section"]] for r in group if r["section"] in places),
            *(f"/result/passages/{r['place']}" for r in group),
        )
        if row["passes"]:
            found += _passing(row, who, stop, at, little_mm)
        else:
            hubs = over_hubs_mm.get(row["section"], {}).get(row.get("tight_axis", ""))
            over = " over its hub ends" if hubs == row["needed_mm"] else " over all"
            found.append(_sticking(row, who, stop, at, changes, over))
        if row["passes"] and row.get("corner", {}).get("carried") == "on-skid":
            found.append(_on_skid(row, who, stop, at))
    if rows and all(row["passes"] for row in rows):
        found.append(_all_pass(rows, titles, kinds))
    return found


def _alike(rows: Sequence[Row], twins: Mapping[str, str]) -> list[list[dict[str, Any]]]:
    groups: dict[tuple[Any, ...], list[dict[str, Any]]] = {}
    for place, row in enumerate(rows):
        key = (twins.get(row["section"], row["section"]), row["passage"], round(row["spare_mm"], 6))
        groups.setdefault(key, []).append({**row, "place": place})
    return list(groups.values())


def _who(names: Sequence[str], kinds: Mapping[str, str]) -> str:
    if len(names) == 1:
        return f"{kinds[names[0]]} {names[0]}"
    return f"{kinds[names[0]]} {names[0]} (and its twin{'s' if len(names) > 2 else ''} " + (
        f"{joined(names[1:])})"
    )


def _sticking(
    row: Row, who: str, stop: str, at: tuple[str, ...], changes: Sequence[Change], over: str
) -> Finding:
    pair = (row["section"], row["passage"])
    remedy = best_remedy(changes, pair)
    if row["tight_side"] == "corner":
        corner = row["corner"]
        message = (
            f"{who} does not go round the corner at {stop}: {mm(corner['length_mm'])} mm long "
            f"({corner['carried'].replace('-', ' ')}) and {mm(corner['width_mm'])} mm wide, it "
            f"misses by {mm(-row['spare_mm'])} mm."
        )
        code = "corner-too-tight"
    else:
        word = _DIMENSION.get(row.get("tight_axis", ""), "across where it leans best")
        if row["attitude"] in _LYING:
            word += f" ({_LYING[row['attitude']]})"
        help_ = "" if row["turning_helps"] else "; no turning helps"
        message = (
            f"{who} is {mm(row['needed_mm'])} mm {word}{over}; {stop} leaves "
            f"{mm(row['allowed_mm'])} mm, {mm(-row['spare_mm'])} mm too little{help_}."
        )
        code = _CODE[row["tight_side"]]
    if remedy:
        message += f" {remedy.message}"
    measure = Measure(row["needed_mm"], row["allowed_mm"], "mm")
    return Finding(code, "stop", message, at, measure, remedy)


def best_remedy(changes: Sequence[Change], pair: tuple[str, str]) -> Remedy | None:
    """The best change that clears what sticks; one that leaves bays without a diagonal is never
    put forward."""
    for change in changes:
        if change.passes and pair in change.cleared and not change.left_without_diagonal:
            return Remedy(change.candidate.message, change.candidate.patch)
    return None


def _passing(row: Row, who: str, stop: str, at: tuple[str, ...], little_mm: float) -> list[Finding]:
    found = []
    attitude = row["attitude"]
    spare = Measure(row["spare_mm"], 0.0, "mm")
    if attitude == "tilted":
        message = (
            f"{who} passes {stop} only leaning {row['angle_deg']:.0f} degrees, with "
            f"{mm(row['spare_mm'])} mm to spare; try it before the day."
        )
        found.append(Finding("passes-only-tilted", "watch", message, at, spare))
    elif attitude in _LYING and not row["upright"]:
        message = (
            f"{who} passes {stop} only {_LYING[attitude]}, with {mm(row['spare_mm'])} mm to "
            f"spare; standing it up again takes {mm(row['tipping_up_mm'])} mm of ceiling. "
            "Check its strength in that position."
        )
        found.append(Finding("passes-only-turned", "watch", message, at, spare))
    if row["spare_mm"] < little_mm:
        message = (
            f"{who} passes {stop} with {mm(row['spare_mm'])} mm to spare in "
            f"{row['tight_side']}; measure the opening with a tape before you go."
        )
        limit = Measure(row["spare_mm"], little_mm, "mm")
        found.append(Finding("passes-with-little-to-spare", "watch", message, at, limit))
    return found


def _on_skid(row: Row, who: str, stop: str, at: tuple[str, ...]) -> Finding:
    corner = row["corner"]
    message = (
        f"{who} goes round the corner at {stop} only on a skid, with "
        f"{mm(corner['spare_mm'])} mm to spare; with a carrier at each end it sticks. "
        "Bring a skid with wheels that swivel."
    )
    measure = Measure(corner["spare_mm"], 0.0, "mm")
    return Finding("corner-too-tight", "watch", message, at, measure)


def _all_pass(rows: Sequence[Row], titles: Mapping[str, str], kinds: Mapping[str, str]) -> Finding:
    names = list(dict.fromkeys(row["section"] for row in rows))
    closest = min(rows, key=lambda row: row["spare_mm"])
    upright = "" if all(row["upright"] for row in rows) else ", not all of them upright"
    who = f"{kinds[names[0]]} {names[0]} passes"
    if len(names) > 1:
        who = "Both pass" if len(names) == 2 else f"All {number_word(len(names))} pass"
    message = (
        f"{who} every passage on the route{upright}; the closest is {closest['section']} at "
        f"{titles[closest['passage']]}, {mm(closest['spare_mm'])} mm to spare in "
        f"{closest['tight_side']}."
    )
    measure = Measure(closest["spare_mm"], 0.0, "mm")
    return Finding("all-sections-pass", "ok", message, ("/result/passages",), measure)


def row_findings(
    name: str,
    rows: Row,
    at: str,
    *,
    remedy: Remedy | None = None,
    short_of_stock: bool = False,
    within: bool = False,
) -> list[Finding]:
    """Findings of one span, or of an axis that nothing closes on. `within`: its aim."""
    wanted = rows["wanted_mm"]
    if not rows["closes"]:
        nearest = rows.get("nearest")
        if nearest is None:
            message = f"{name}: no rod at hand fits into {mm(wanted)} mm. Add a shorter rod."
            return [Finding("span-does-not-close", "stop", message, (at,), None, remedy)]
        miss = nearest["misfit_mm"]
        message = (
            f"{name}: no row of rods closes on {mm(wanted)} mm; the nearest is "
            f"{mm(nearest['length_mm'])} mm ({rods_text(nearest['rods'])}), "
            f"{mm(abs(miss))} mm too {'long' if miss > 0 else 'short'}, and its seats give "
            f"{mm(nearest['play_mm'])} mm."
        )
        if remedy:
            message += f" {remedy.message}"
        measure = Measure(abs(miss), nearest["play_mm"], "mm")
        found = [Finding("span-does-not-close", "stop", message, (at,), measure, remedy)]
        if short_of_stock:
            more = f"{name}: with more rods on the shelf a row would close. Order more of them."
            found.append(Finding("stock-short", "watch", more, (at,)))
        return found
    best = rows["rows"][0]
    if within:
        message = (
            f"{name}: the longest row within {mm(wanted)} mm is {mm(best['length_mm'])} mm "
            f"({rods_text(best['rods'])})."
        )
        return [Finding("span-closes", "ok", message, (at,))]
    share = best.get("play_used_ratio")
    ways = f"{rows['ways_count']} way{'' if rows['ways_count'] == 1 else 's'} in all"
    if share is not None and share > 0.5:
        easier = next((r for r in rows["rows"] if r.get("play_used_ratio", 1.0) <= 0.5), None)
        advice = (
            f"Use {rods_text(easier['rods'])}, which spreads it over {easier['rod_count']} rods."
            if easier
            else "Change the length by the misfit, or use more and shorter rods."
        )
        message = (
            f"{name}: {rods_text(best['rods'])} is {mm(best['length_mm'])} mm, "
            f"{mm(abs(best['misfit_mm']))} mm off, and takes {share:.2f} of the play of its "
            f"{best['rod_count']} rods: the row is forced ({ways}). {advice}"
        )
        measure = Measure(share, 0.5, "1")
        return [Finding("span-forced", "watch", message, (at,), measure, Remedy(advice))]
    message = (
        f"{name}: {rods_text(best['rods'])} closes on {mm(wanted)} mm"
        f"{_off(best['misfit_mm'])} ({ways})."
    )
    return [Finding("span-closes", "ok", message, (at,))]


def solution_findings(
    solution: Row, *, tolerance_mm: float, remedy: Remedy | None
) -> list[Finding]:
    """The rows chosen for the envelope: what they make, and where they are forced or bare."""
    at = ("/result/solutions/0",)
    rows = [f"{rods_text(a['row']['rods'])} along {a['axis']}" for a in solution["axes"]]
    size = " x ".join(mm(solution["outside_mm"][axis]) for axis in "xyz")
    alike = "all sections are alike" if solution["identical"] else "not all sections are alike"
    message = f"{joined(rows)} make {size} mm over the hub ends; {alike}."
    found = [Finding("envelope-closes", "ok", message, at)]
    bare, in_line = solution["unbraceable_pairs_count"], solution["in_line_pairs_count"]
    if bare + in_line:
        text = (
            "The size closes only with bays that no single rod braces "
            f"({bare + in_line} pair{'' if bare + in_line == 1 else 's'} of rods)."
        )
        text += f" {remedy.message}" if remedy else " Change the size."
        found.append(Finding("envelope-not-braceable", "watch", text, at, None, remedy))
    for k, axis in enumerate(solution["axes"]):
        share = axis["row"].get("play_used_ratio")
        if tolerance_mm == 0 and share is not None and share > 0.5:
            text = (
                f"Along {axis['axis']} the row is {mm(abs(axis['row']['misfit_mm']))} mm off and "
                f"takes {share:.2f} of its play: it is forced. Change the size by the misfit."
            )
            measure = Measure(share, 0.5, "1")
            found.append(Finding("span-forced", "watch", text, (f"{at[0]}/axes/{k}",), measure))
    return found


def _off(misfit_mm: float) -> str:
    return " exactly" if misfit_mm == 0 else f", {mm(abs(misfit_mm))} mm off"


def bay_findings(bays: Sequence[Row], *, play_mm: float) -> list[Finding]:
    """Bays without a diagonal, and those braced only by two rods in line."""
    found = []
    closing = [" x ".join(dict.fromkeys(b["rods"])) for b in bays if b["closes"]]
    for place, bay in enumerate(bays):
        at = (f"/result/bays/{place}",)
        name = " x ".join(bay["rods"])
        where = f" ({bay['faces_count']} faces)" if bay["faces_count"] else ""
        level = "stop" if bay["faces_count"] else "watch"
        if not bay["closes"]:
            miss = bay["nearest_misfit_mm"]
            advice = (
                f"Use bays of {joined(closing)}." if closing else "Use bays with two equal rods."
            )
            message = (
                f"A bay of {name}{where} cannot be braced: its diagonal is "
                f"{bay['needed_mm']:.2f} mm and the nearest rod, {bay['nearest_rod']}, is "
                f"{abs(miss):.2f} mm too {'long' if miss > 0 else 'short'}. {advice}"
            )
            measure = Measure(abs(miss), play_mm, "mm")
            found.append(Finding("bay-cannot-be-braced", level, message, at, measure))
        elif bay["in_line_count"] == 2 and bay["faces_count"]:
            message = (
                f"A bay of {name}{where} is braced only by two {bay['rod']} in line on a mid-hub; "
                "the frame leaves these faces bare. Add the pairs by hand, or change the bay."
            )
            found.append(Finding("bay-cannot-be-braced", level, message, at))
    return found


def loop_finding(loop: Row, place: int, remedy: Remedy | None, title: str) -> Finding:
    """Whether the seats take up the gap of a loop."""
    at = (f"/loops/{place}",)
    share = loop.get("play_used_ratio")
    if loop["closes"]:
        how = (
            "closes exactly"
            if loop["gap_mm"] == 0
            else f"misses by {loop['gap_mm']:.2f} mm, {share:.2f} of the play of its seats"
        )
        message = f"Loop {title} {how}."
        return Finding("loop-closes", "ok", message, at, Measure(share or 0.0, 1.0, "1"))
    need = (
        "no give along its rods closes it"
        if share is None
        else f"that would take {share:.1f} times the play of its seats"
    )
    message = f"Loop {title} misses by {loop['gap_mm']:.2f} mm; {need}."
    message += f" {remedy.message}" if remedy else " Change one of its rods."
    measure = None if share is None else Measure(share, 1.0, "1")
    return Finding("loop-does-not-close", "stop", message, at, measure, remedy)


def shortage_findings(shortages: Sequence[Row]) -> list[Finding]:
    """Parts of which the stock holds too few for the frame."""
    return [
        Finding(
            "stock-short",
            "watch",
            f"{row['item']}: {row['needed_count']} needed, {row['available_count']} on the shelf. "
            f"Order {row['short_count']}, or let the part count look for substitutes.",
            (f"/result/shortages/{place}",),
            Measure(row["needed_count"], row["available_count"], "1"),
        )
        for place, row in enumerate(shortages)
    ]


def joint_findings(joints: Sequence[Row]) -> list[Finding]:
    """Joints whose faces do not meet."""
    return [
        Finding(
            "joint-does-not-match",
            "watch",
            f"{joint['between'][0]} and {joint['between'][1]} are coupled by "
            f"{joint['rods_count']} of {joint['possible_count']} rods: their faces do not match. "
            "Give both the same rods across the joint.",
            (f"/layout/joints/{place}",),
            Measure(joint["rods_count"], joint["possible_count"], "1"),
        )
        for place, joint in enumerate(joints)
        if not joint["matches"]
    ]
