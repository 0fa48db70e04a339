"""What the builder should know about the load, in a sentence each."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure, Remedy

from ...grid_fit.changes import joined
from ...grid_fit.findings import mm
from .cargo import Attitude, attitudes
from .loading import Bay, Item, passes_door
from .tipping import BEND_RATIO, BRAKING_RATIO

Row = Mapping[str, Any]

_AT = "/vehicle"
_RESULT = "/result/vehicle"


def too_large(item: Item, bay: Bay, title: str) -> Finding:
    """One box that goes in in no attitude it may travel in."""
    size = item.size
    tried = [a for a in attitudes(item.handling) if passes_door(a.of(size), bay)]
    at = (item.cargo.pointer or _AT,)
    if tried:
        best, over = min(((a, _over_bay(a, item, bay)) for a in tried), key=lambda one: one[1][0])
        excess, what, needed, room = over
        return Finding(
            "too-large-for-vehicle",
            "stop",
            f"{item.cargo.id} is {mm(needed)} mm {what} as it would have to travel "
            f"({_lying(best)}); the {title} has room for {mm(room)} mm, {mm(excess)} mm too "
            f"little. Take a longer or higher vehicle, or let {item.cargo.id} lie another way.",
            at,
            Measure(needed, room, "mm"),
            Remedy(f"Take a vehicle with {mm(needed)} mm, or split {item.cargo.id}."),
        )
    best, over = min(
        ((a, _over_door(a, item, bay)) for a in attitudes(item.handling)), key=lambda one: one[1][0]
    )
    excess, what, needed, room = over
    return Finding(
        "does-not-pass-vehicle-door",
        "stop",
        f"{item.cargo.id} is {mm(needed)} mm {what} when it passes the door of the {title} "
        f"({_lying(best)}); {mm(room)} mm are left there, {mm(excess)} mm too little.",
        at,
        Measure(needed, room, "mm"),
        Remedy(f"Take a vehicle with a larger door, or let {item.cargo.id} lie another way."),
    )


def _over_bay(attitude: Attitude, item: Item, bay: Bay) -> tuple[float, str, float, float]:
    size = attitude.of(item.size)
    return _worst(size, bay.clear, ("long", "wide", "high"))


def _over_door(attitude: Attitude, item: Item, bay: Bay) -> tuple[float, str, float, float]:
    size = attitude.of(item.size)
    return _worst(size[1:], bay.clear_door, ("wide", "high"))


def _worst(
    size: Sequence[int], room: Sequence[int], words: Sequence[str]
) -> tuple[float, str, float, float]:
    """(excess, what it is, needed, room) in mm along the axis that sticks most."""
    return max(
        ((s - max(r, 0)) / 1000, word, s / 1000, max(r, 0) / 1000)
        for s, r, word in zip(size, room, words, strict=True)
    )


def _lying(attitude: Attitude) -> str:
    words = {"upright": "upright", "on-back": "on its back", "on-end": "on its end"}
    return words[attitude.name]


def packing_finding(record: Row, count: int) -> Finding:
    """Does everything go in?"""
    if record["answer"] == "fits":
        return _fits(record, count)
    title = record["title"]
    help_ = _help(record)
    if record["answer"] == "does-not-fit":
        why = (
            f"together they need {mm(record['least_mm'])} mm of its length or more, "
            f"and it has {mm(record['bay_mm'][0])}"
            if record["least_mm"] > record["bay_mm"][0]
            else "every arrangement was ruled out"
        )
        return Finding(
            "vehicle-too-small",
            "stop",
            f"The {count} things do not all go into the {title}: {why}. {help_}",
            (_AT, _RESULT),
            Measure(record["least_mm"], record["bay_mm"][0], "mm"),
            Remedy(help_),
        )
    return Finding(
        "vehicle-not-decided",
        "watch",
        f"Whether the {count} things go into the {title} was not decided: no arrangement was "
        f"found in {record['nodes_searched_count']} steps, and none was ruled out for all. {help_}",
        (_AT, _RESULT),
        Measure(record["nodes_searched_count"], record["nodes_most_count"], "1"),
        Remedy(help_),
    )


def _help(record: Row) -> str:
    tried = record["would_help"]
    leave = [one["id"] for one in tried if one["change"] == "leave-out"]
    ways = []
    if leave:
        ways.append(f"take {' or '.join(leave[:4])} on another trip")
    if any(one["change"] == "stack" for one in tried):
        ways.append("let things stand on one another")
    if any(one["change"] == "turn" for one in tried):
        ways.append("let things lie any way up")
    if not ways:
        return "Take a larger vehicle, or go twice."
    return f"With one change everything goes in: {'; or '.join(ways)}."


def _fits(record: Row, count: int) -> Finding:
    length, width = record["used_length_mm"], record["used_width_mm"]
    narrow = record["aim"] == "free-width"
    used = width if narrow else length
    word = "narrower" if narrow else "shorter"
    if record["aim_proven"]:
        proof = f"No arrangement is {word}: proven."
    else:
        proof = f"None can be more than {mm(used - record['least_mm'])} mm {word}."
    return Finding(
        "vehicle-takes-all",
        "ok",
        f"{'All ' if count > 1 else ''}{count} thing{'s' * (count > 1)} "
        f"{'go' if count > 1 else 'goes'} into the {record['title']}: {mm(length)} of "
        f"{mm(record['bay_mm'][0])} mm long and {mm(width)} of {mm(record['bay_mm'][1])} mm wide; "
        f"{mm(record['free_length_mm'])} mm stay free at the door. {proof} Load in this order: "
        f"{', '.join(record['loading_order'])}.",
        (_AT, f"{_RESULT}/placements"),
        Measure(length, record["bay_mm"][0], "mm"),
    )


def payload_findings(record: Row) -> list[Finding]:
    """Mass against payload."""
    if "max_payload_kg" not in record:
        return []
    limit, mass, unknown = record["max_payload_kg"], record["mass_kg"], record["mass_unknown"]
    at = (f"{_AT}/max_payload_kg",)
    if mass > limit:
        return [
            Finding(
                "payload-exceeded",
                "stop",
                f"What is known of the load weighs {mass:.1f} kg; the {record['title']} may carry "
                f"{limit:g} kg. Take {mass - limit:.1f} kg out, or go twice.",
                at,
                Measure(mass, limit, "kg"),
                Remedy(f"Take {mass - limit:.1f} kg out, or go twice."),
            )
        ]
    if unknown:
        return [
            Finding(
                "mass-not-known",
                "watch",
                f"The payload of {limit:g} kg was not checked in full: the mass of "
                f"{joined(unknown[:6])}{' and others' * (len(unknown) > 6)} is not known. "
                "Weigh it.",
                at,
                Measure(mass, limit, "kg"),
                Remedy(f"Weigh {joined(unknown[:6])} and give the mass."),
            )
        ]
    return []


def tipping_findings(record: Row, steadier: Mapping[str, str]) -> list[Finding]:
    """Things that would fall over sideways in a bend, or forwards in braking.

    `steadier`: for each thing that could lie so that it does not tip, what that costs.
    """
    found = []
    for place, row in enumerate(record["placements"]):
        at = (f"{_RESULT}/placements/{place}",)
        assumed = " (its centre of mass taken at mid-height)" if row["centre_assumed"] else ""
        across, along = row["tips_across_ratio"], row["tips_along_ratio"]
        lash = f"Lash {row['id']} above its middle to both sides, or wedge it between others."
        if across < BEND_RATIO:
            remedy = steadier.get(row["id"], lash)
            found.append(
                Finding(
                    "would-tip-in-a-bend",
                    "watch",
                    f"{row['id']} would tip in a bend if nothing held it: half its base across "
                    f"the vehicle is {across:.2f} of the height of its centre{assumed}; "
                    f"{BEND_RATIO:g} is needed. {remedy}",
                    at,
                    Measure(across, BEND_RATIO, "1"),
                    Remedy(remedy),
                )
            )
        elif row.get("stack_across_ratio", across) < BEND_RATIO:
            found.append(_stack_finding(row, at))
        elif along < BRAKING_RATIO and not _held_in_front(row, record):
            remedy = f"Stand {row['id']} against the front wall or another thing, or lash it."
            found.append(
                Finding(
                    "would-tip-when-braking",
                    "watch",
                    f"{row['id']} would tip forwards when braking if nothing held it: half its "
                    f"base along the vehicle is {along:.2f} of the height of its centre{assumed}; "
                    f"{BRAKING_RATIO:g} is needed. {remedy}",
                    at,
                    Measure(along, BRAKING_RATIO, "1"),
                    Remedy(remedy),
                )
            )
    return found


def _stack_finding(row: Row, at: tuple[str, ...]) -> Finding:
    ratio = row["stack_across_ratio"]
    remedy = f"Lash what stands on {row['id']} down to the floor, or stack lower."
    return Finding(
        "stack-would-tip-in-a-bend",
        "watch",
        f"{row['id']} and what stands on it would tip in a bend as one if nothing held them: half "
        f"the base across the vehicle is {ratio:.2f} of the height of their common centre of mass; "
        f"{BEND_RATIO:g} is needed. {remedy}",
        at,
        Measure(ratio, BEND_RATIO, "1"),
        Remedy(remedy),
    )


def _held_in_front(row: Row, record: Row) -> bool:
    """Does the front wall, or a thing as high as its middle, stand close before it?"""
    (x, y, z), (_, b, h) = row["at_mm"], row["size_mm"]
    near = 20.0
    if x <= near:
        return True
    return any(
        x - near <= other["at_mm"][0] + other["size_mm"][0] <= x + 1e-6
        and other["at_mm"][1] < y + b
        and y < other["at_mm"][1] + other["size_mm"][1]
        and other["at_mm"][2] + other["size_mm"][2] >= z + h / 2
        for other in record["placements"]
        if other["id"] != row["id"]
    )
