"""What the builder should know of the joints and of what bridges them."""

from collections.abc import Callable, Hashable, Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure, Remedy

from .bridging import not_less
from .findings import count_of, joined, mm, some
from .play import FINGER_GAP_MM

Row = Mapping[str, Any]

FLOOR = " Standing, only the grip of the feet on the floor holds it."


def joint_names(joints: Sequence[Row]) -> list[str]:
    return ["–".join(row["between"]) for row in joints]


def together(
    joints: Sequence[Row], places: Sequence[int], key: Callable[[Row], Hashable]
) -> list[list[int]]:
    """Places of joints, those with the same key together."""
    groups: dict[Hashable, list[int]] = {}
    for place in places:
        groups.setdefault(key(joints[place]), []).append(place)
    return list(groups.values())


def coupling_findings(joints: Sequence[Row]) -> list[Finding]:
    """How the sections are coupled: number of rods, gap, partners, fingers."""
    names = joint_names(joints)
    found: list[Finding] = []
    for group in together(joints, range(len(joints)), _coupled):
        row = joints[group[0]]
        some_names = some([names[k] for k in group])
        verb = "is" if len(group) == 1 else "are each"
        at = tuple(f"/joints/{k}" for k in group)
        text = (
            f"{some_names} {verb} coupled by {count_of(row['rods_count'], 'rod')} {row['rod']} "
            f"along {row['axis']}: {mm(row['gap_mm'])} between hub centres, "
            f"{mm(row['clear_gap_mm'])} clear between hub ends, {mm(row['play_mm'])} of play "
            "each way"
        )
        measure = Measure(row["clear_gap_mm"], None, "mm")
        found.append(Finding("coupling", "ok", f"{text}. Keep the rods together.", at, measure))
        found += _trouble(row, some_names, at)
    return found


def _coupled(row: Row) -> Hashable:
    keys = ("rod", "rods_count", "axis", "gap_mm", "rod_misfit_mm", "possible_count")
    return tuple(row.get(key) for key in keys)


def _trouble(row: Row, names: str, at: tuple[str, ...]) -> list[Finding]:
    found = []
    if not row.get("matches", True):
        alone = row["alone_first_count"] + row["alone_second_count"]
        found.append(
            Finding(
                "faces-do-not-match",
                "watch",
                f"At {names} only {row['rods_count']} of {row['possible_count']} corner hubs have "
                f"a partner across the gap; {alone} hubs of the two faces have none. Give both "
                "sections the same bays across the joint.",
                tuple(f"{pointer}/rods_count" for pointer in at),
                Measure(row["rods_count"], row["possible_count"], "1"),
            )
        )
    if not not_less(row["play_mm"], abs(row["rod_misfit_mm"])):
        off = "too short" if row["rod_misfit_mm"] > 0 else "too long"
        found.append(
            Finding(
                "rod-does-not-close",
                "stop",
                f"At {names} the hubs are {mm(row['gap_mm'])} apart and {row['rod']} is "
                f"{mm(abs(row['rod_misfit_mm']))} {off}; play gives {mm(row['play_mm'])}. Move a "
                "section, or couple with another rod.",
                tuple(f"{pointer}/rod_misfit_mm" for pointer in at),
                Measure(abs(row["rod_misfit_mm"]), row["play_mm"], "mm"),
            )
        )
    least, gap = row["clear_gap_least_mm"], tuple(f"{p}/clear_gap_least_mm" for p in at)
    if least <= 0:
        found.append(
            Finding(
                "hub-ends-touch",
                "stop",
                f"At {names} the hub ends leave {mm(least)}: they meet before the rods are home. "
                "Couple with a longer rod.",
                gap,
                Measure(least, 0, "mm"),
            )
        )
    elif not not_less(least, FINGER_GAP_MM):
        found.append(
            Finding(
                "pinches-fingers",
                "watch",
                f"At {names} the hub ends close to {mm(least)}, and a finger needs "
                f"{mm(FINGER_GAP_MM)} (ISO 13854): keep hands off the gap when the sections go "
                "together, or couple with a longer rod.",
                gap,
                Measure(least, FINGER_GAP_MM, "mm"),
            )
        )
    return found


def racking_findings(
    joints: Sequence[Row], remedies: Mapping[int, Remedy], *, stands: bool
) -> list[Finding]:
    """Joints that move though their rods hold; remedies by the first joint of a kind; `stands`
    where the floor holds the whole machine by its feet."""
    names = joint_names(joints)
    found = []
    moving = [k for k, row in enumerate(joints) if row["mechanisms_count"]]
    for group in racking_groups(joints):
        row = joints[group[0]]
        verb = "racks like a parallelogram" if len(group) == 1 else (
            "rack like parallelograms"
        )  # fmt: skip
        slides = mm(row["sideways_mm"])
        across = joined(row["moves"])
        if not any(word.startswith("slide") for word in row["moves"]):
            verb = "moves" if len(group) == 1 else "move"
        needed = len(row.get("diagonals_needed", ()))
        hint = f" {_hint(row, needed)}" if group[0] not in remedies else ""
        found.append(
            Finding(
                "joint-racks",
                "watch",
                f"{some([names[k] for k in group])} {verb}: the rods leave "
                f"{count_of(row['mechanisms_count'], 'way')} to move ({across}). They give "
                f"{slides} sideways within their play, and go on by drawing the sections together."
                f"{FLOOR if stands else ''} Level the sections before they are coupled, and move "
                f"none while it is.{hint}",
                tuple(f"/joints/{k}/mechanisms_count" for k in group),
                Measure(row["mechanisms_count"], 0, "1"),
                remedies.get(group[0]),
            )
        )
    still = [k for k in range(len(joints)) if k not in moving]
    if still:
        found.append(
            Finding(
                "joint-braced",
                "ok",
                f"{some([names[k] for k in still])} {'holds' if len(still) == 1 else 'hold'} the "
                "sections square to each other: keep the rods across the gap in.",
                tuple(f"/joints/{k}/mechanisms_count" for k in still),
                Measure(0, 0, "1"),
            )
        )
    return found


def racking_groups(joints: Sequence[Row]) -> list[list[int]]:
    """Joints that move, those of one kind together."""
    moving = [k for k, row in enumerate(joints) if row["mechanisms_count"]]
    return together(
        joints, moving, lambda row: (tuple(row["moves"]), row["rod"], row["sideways_mm"])
    )


def _hint(row: Row, needed: int) -> str:
    plates = (
        "Fasten plates to both sides instead: one flat and two upright hold it, as under bridges."
    )
    if not needed or "diagonal_needed_mm" not in row:
        return plates
    if row["diagonal_closes"]:
        return (
            f"Set {count_of(needed, 'rod')} across the gap, {mm(row['diagonal_needed_mm'])} long."
        )
    return (
        f"A rod across the gap would be {mm(row['diagonal_needed_mm'])} long at the least, and no "
        f"rod with a seat that way closes it. {plates}"
    )


def gap_findings(
    joints: Sequence[Row], low_mm: float | None, high_mm: float | None, remedy: Remedy | None
) -> list[Finding]:
    """Gaps outside the wanted range."""
    names = joint_names(joints)
    out = gaps_outside(joints, low_mm, high_mm)
    if not out:
        return []
    listed = some([f"{names[k]} ({mm(joints[k]['clear_gap_mm'])})" for k in out])
    limits = [
        *([f"at least {mm(low_mm)}"] if low_mm is not None else []),
        *([f"at most {mm(high_mm)}"] if high_mm is not None else []),
    ]
    row = joints[out[0]]
    wide = high_mm is not None and row["clear_gap_mm"] > high_mm
    return [
        Finding(
            "gap-out-of-range",
            "stop",
            f"The clear gap at {listed} is not {joined(limits)}, as wanted: couple with a "
            f"{'shorter' if wide else 'longer'} rod, or choose another gap.",
            tuple(f"/joints/{k}/clear_gap_mm" for k in out),
            Measure(row["clear_gap_mm"], high_mm if wide else low_mm, "mm"),
            remedy,
        )
    ]


def gaps_outside(joints: Sequence[Row], low_mm: float | None, high_mm: float | None) -> list[int]:
    """Places of joints whose clear gap is outside the wanted range."""
    return [
        k
        for k, row in enumerate(joints)
        if (low_mm is not None and not not_less(row["clear_gap_mm"], low_mm))
        or (high_mm is not None and not not_less(high_mm, row["clear_gap_mm"]))
    ]


def alignment_findings(joints: Sequence[Row], wanted_mm: float) -> list[Finding]:
    """Joints whose play lets the sections get further out of line than wanted."""
    names = joint_names(joints)
    worst = [_out_of_line(row) for row in joints]
    out = [k for k, (mm_off, _, _) in enumerate(worst) if not not_less(wanted_mm, mm_off)]
    found = []
    for group in together(joints, out, lambda row: _out_of_line(row)[2]):
        off, field, words = worst[group[0]]
        found.append(
            Finding(
                "out-of-line",
                "watch",
                f"Within the play of the rods {some([names[k] for k in group])} can {words}, and "
                f"{mm(wanted_mm)} is wanted: set a dowel or a stop on each side that finds the "
                "place, and align before tracks are laid across.",
                tuple(f"/joints/{k}/{field}" for k in group),
                Measure(off, wanted_mm, "mm"),
            )
        )
    return found


def _out_of_line(row: Row) -> tuple[float, str, str]:
    """The largest move within the play of a joint: mm, its field, and words."""
    ways = [(0.0, "play_mm", "not move")]
    for n, tilt in enumerate(row["tilts"]):
        opens = tilt["opens_at_edge_mm"]
        words = f"tilt until the gap changes by {mm(opens)} at the edge"
        ways.append((opens, f"tilts/{n}/opens_at_edge_mm", words))
    if any(word.startswith("slide") or "sliding" in word for word in row["moves"]):
        ways.append((row["sideways_mm"], "sideways_mm", f"slide {mm(row['sideways_mm'])} sideways"))
    return max(ways, key=lambda way: way[0])


def bridge_findings(
    bridges: Sequence[Row], names: Sequence[str], remedies: Mapping[str, Remedy]
) -> list[Finding]:
    """What crosses the gaps: each piece once, by its worst joint; remedies by id."""
    found: list[Finding] = []
    pieces: dict[str, list[int]] = {}
    for place, row in enumerate(bridges):
        pieces.setdefault(row["id"], []).append(place)
    for id, places in pieces.items():
        for check in (_too_short, _too_long, _moves):
            bad = [k for k in places if check(bridges[k]) is not None]
            if not bad:
                continue
            worst = max(bad, key=lambda k: _off(bridges[k]))
            code, level, text, measure = check(bridges[worst]) or ("", "", "", None)
            where = some([names[bridges[k]["joint"]] for k in bad])
            found.append(
                Finding(
                    code,
                    level,
                    f"{_piece(bridges[worst])} at {where} {text}",
                    tuple(f"/bridges/{k}/fits" for k in bad),
                    measure,
                    None if check is _moves else remedies.get(id),
                )
            )
        good = [k for k in places if bridges[k]["fits"]]
        if good:
            found.append(_fits(bridges, good, names))
    return found


Check = tuple[str, str, str, Measure | None]


def _piece(row: Row) -> str:
    return f"The {row['title'] or row['id']} of {mm(row['length_mm'])}"


def _off(row: Row) -> float:
    return float(row["needed_mm"] - row["length_mm"])


def _too_short(row: Row) -> Check | None:
    if row["long_enough"]:
        return None
    measure = Measure(row["length_mm"], row["needed_mm"], "mm")
    if row["how"] == "over":
        bears = row["bearing_least_mm"]
        text = (
            f"spans {mm(row['span_mm'])} and bears on {mm(bears)} each side with the gap open: "
            if bears > 0
            else f"does not reach across {mm(row['span_mm'])}: "
        )
        return "bridge-too-short", "stop", f"{text}make it {mm(row['needed_mm'])} long.", measure
    if row["how"] == "in":
        text = (
            f"leaves a slit of up to {mm(row['slit_most_mm'])}, and {mm(row['tolerance_mm'])} may "
            f"be left: make it at least {mm(row['needed_mm'])} long."
        )
        return "bridge-leaves-slit", "watch", text, measure
    text = (
        f"has {mm(row['slack_mm'])} of slack over {mm(row['span_mm'])}, and "
        f"{mm(row['tolerance_mm'])} is wanted: make it {mm(row['needed_mm'])} long."
        if row["slack_mm"] >= 0
        else f"does not reach over {mm(row['span_mm'])}: make it {mm(row['needed_mm'])} long."
    )
    return "bridge-too-short", "stop", text, measure


def _too_long(row: Row) -> Check | None:
    if "most_mm" not in row or not_less(row["most_mm"], row["length_mm"]):
        return None
    text = (
        f"binds: with the gap closed by play and the piece grown it may be {mm(row['most_mm'])} "
        "long. Shorten it, or the coupling rods do not go home."
    )
    return "bridge-binds", "stop", text, Measure(row["length_mm"], row["most_mm"], "mm")


def _moves(row: Row) -> Check | None:
    if row["how"] != "over" or not_less(row["tolerance_mm"], row["moves_mm"]):
        return None
    text = (
        f"bears {mm(row['tolerance_mm'])} of movement, and gap and piece move "
        f"{mm(row['moves_mm'])} against each other: fix it on one side only and let it slide on "
        "the other."
    )
    measure = Measure(row["moves_mm"], row["tolerance_mm"], "mm")
    return "bridge-moves-too-much", "watch", text, measure


def _fits(bridges: Sequence[Row], places: Sequence[int], names: Sequence[str]) -> Finding:
    worst = max(places, key=lambda k: _off(bridges[k]))
    row = bridges[worst]
    where = some([names[bridges[k]["joint"]] for k in places])
    how = {
        "over": f"bears on {mm(row.get('bearing_least_mm', 0.0))} each side with the gap open",
        "in": f"leaves a slit of {mm(row.get('slit_least_mm', 0.0))} to "
        f"{mm(row.get('slit_most_mm', 0.0))}",
        "loose": f"has {mm(row.get('slack_mm', 0.0))} of slack left",
    }[row["how"]]
    return Finding(
        "bridge-fits",
        "ok",
        f"{_piece(row)} at {where} spans {mm(row['span_mm'])} and {how}: lay it after the joint "
        "is coupled, lift it before it is undone.",
        tuple(f"/bridges/{k}/fits" for k in places),
        Measure(row["length_mm"], row["needed_mm"], "mm"),
    )
