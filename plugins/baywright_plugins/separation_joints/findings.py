"""What the builder should know of sections and of the machine, in a sentence each."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure, Remedy

Row = Mapping[str, Any]

_SIDE_WORDS = {
    "x-minus": "left end", "x-plus": "right end", "y-minus": "front", "y-plus": "back",
    "z-minus": "bottom", "z-plus": "top",
}  # fmt: skip


def joined(words: Sequence[str]) -> str:
    """Words as a list in a sentence.

    >>> joined(["a", "b", "c"])
    'a, b and c'
    """
    return " and ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def some(words: Sequence[str], most: int = 4) -> str:
    """The first words of a list, and how many more."""
    if len(words) <= most:
        return joined(words)
    return f"{', '.join(words[:most])} and {len(words) - most} more"


def mm(value: float) -> str:
    """A length as people read it.

    >>> mm(26.0), mm(0.451), mm(1503.26)
    ('26 mm', '0.45 mm', '1503.3 mm')
    """
    digits = 2 if abs(value) < 10 else 1
    return f"{round(value, digits) + 0.0:g} mm" if abs(value) < 1e5 else f"{value:.0f} mm"


def kg(value: float) -> str:
    return f"{value:.1f} kg" if value < 1e5 else f"{value:.0f} kg"


def count_of(number: int, one: str, several: str = "") -> str:
    """A number and what it counts.

    >>> count_of(1, "rod"), count_of(16, "rod")
    ('1 rod', '16 rods')
    """
    return f"{number} {one if number == 1 else several or one + 's'}"


def alike(sections: Sequence[Row]) -> list[list[int]]:
    """Places of sections, those built alike together."""
    groups: dict[str, list[int]] = {}
    for place, row in enumerate(sections):
        groups.setdefault(row.get("like", row["id"]), []).append(place)
    return list(groups.values())


def section_findings(
    sections: Sequence[Row], remedies: Mapping[str, Remedy | None], *, gridded: bool
) -> list[Finding]:
    """Sections that fold, each kind once, and what holds the others; remedies by section id."""
    found = []
    good = []
    for group in alike(sections):
        first = sections[group[0]]
        names = joined([sections[k]["id"] for k in group])
        if first["rigid"]:
            good += group
            continue
        pointers = tuple(f"/sections/{k}/mechanisms_count" for k in group)
        found.append(_folds(first, names, len(group), pointers, remedies.get(first["id"])))
    if good:
        found.append(_stand(sections, good, gridded=gridded))
    return found


def _folds(row: Row, names: str, count: int, at: tuple[str, ...], remedy: Remedy | None) -> Finding:
    ways = row["mechanisms_count"]
    verb = "is" if count == 1 else "are"
    folds = row["folds"]
    how = "; ".join(dict.fromkeys(fold["words"] for fold in folds[:3]))
    faces = [fold["face"] for fold in folds if "face" in fold]
    if faces:
        where = f"{some(faces)} would hold it: brace there."
    elif row.get("diagonals_sought", True):
        where = (
            "no missing diagonal that the kit closes holds it: look for rods left out, or go back "
            "to bays that a rod closes."
        )
    else:
        bare_faces = count_of(row["bare_faces_count"], "outer face")
        where = f"{bare_faces} have no diagonal: brace them, then ask again."
    where = f" {where[0].upper()}{where[1:]}"
    standing = row.get("standing_mechanisms_count")
    stands = ""
    if standing == 0:
        stands = " It stands while the floor holds its feet, and folds as soon as it is lifted."
    elif standing:
        stands = f" Standing on its feet it still folds in {count_of(standing, 'way')}."
    bare = ""
    if row.get("no_rod_faces_count"):
        bare = f" No rod of the kit closes across {count_of(row['no_rod_faces_count'], 'face')}."
    return Finding(
        "section-not-rigid",
        "stop",
        f"{names} {verb} not rigid when the joints are undone: "
        f"{count_of(ways, 'way')} to fold ({how}).{stands}{bare}{where}",
        at,
        Measure(ways, 0, "1"),
        remedy,
    )


def _stand(sections: Sequence[Row], places: Sequence[int], *, gridded: bool) -> Finding:
    names = joined([sections[k]["id"] for k in places])
    verb = "stands" if len(places) == 1 else "each stand"
    heaviest = max(places, key=lambda k: (sections[k]["mass_kg"], -k))
    mass = sections[heaviest]["mass_kg"]
    square = ""
    if gridded:
        ends = [plane for k in places for plane in sections[k]["planes"] if plane["at_joints"]]
        kept = sum(plane["square"] for plane in ends)
        if ends:
            square = (
                f" {kept} of {count_of(len(ends), 'coupling face')} "
                f"{'keeps' if kept == 1 else 'keep'} square without the neighbour."
            )
    return Finding(
        "sections-rigid",
        "ok",
        f"{names} {verb} as a rigid frame by {'itself' if len(places) == 1 else 'themselves'}, "
        f"joints undone: carry each singly.{square} The heaviest is "
        f"{sections[heaviest]['id']} with {kg(mass)}.",
        tuple(f"/sections/{k}/rigid" for k in places),
        Measure(0, 0, "1"),
    )


def face_findings(sections: Sequence[Row]) -> list[Finding]:
    """Coupling faces that rack within their plane though the section is rigid."""
    found = []
    for group in alike(sections):
        row = sections[group[0]]
        if not row["rigid"]:
            continue
        bad = [
            (n, plane)
            for n, plane in enumerate(row["planes"])
            if not plane["square"] and any(sections[k]["planes"][n]["at_joints"] for k in group)
        ]
        if bad:
            names = joined([sections[k]["id"] for k in group])
            sides = joined([_SIDE_WORDS[plane["side"]] for _, plane in bad])
            worst = max(plane["racks_count"] for _, plane in bad)
            found.append(
                Finding(
                    "face-held-from-inside",
                    "watch",
                    f"The coupling face of {names} at the {sides} racks within its own plane "
                    f"({count_of(worst, 'way')}); only the bays behind hold it square. Brace its "
                    "faces, so that its hubs meet their partners.",
                    tuple(f"/sections/{group[0]}/planes/{n}" for n, _ in bad),
                    Measure(worst, 0, "1"),
                )
            )
    return found


def mass_findings(sections: Sequence[Row], limit_kg: float, remedy: Remedy | None) -> list[Finding]:
    """Sections over the heaviest wanted mass."""
    heavy = [k for k, row in enumerate(sections) if row["mass_kg"] > limit_kg]
    if not heavy:
        return []
    listed = joined([f"{sections[k]['id']} ({kg(sections[k]['mass_kg'])})" for k in heavy])
    worst = max(sections[k]["mass_kg"] for k in heavy)
    verb = "is" if len(heavy) == 1 else "are"
    return [
        Finding(
            "section-too-heavy",
            "stop",
            f"{listed} {verb} over {kg(limit_kg)}: cut in two, or carry equipment apart.",
            tuple(f"/sections/{k}/mass_kg" for k in heavy),
            Measure(worst, limit_kg, "kg"),
            remedy,
        )
    ]


def machine_findings(machine: Row) -> list[Finding]:
    """Sections that nothing couples."""
    if machine["sections_count"] == 1:
        return [
            Finding(
                "one-piece",
                "ok",
                "The machine is one section: it comes apart nowhere. Ask where it could be cut "
                "under look_for_cuts.",
                ("/machine/sections_count",),
            )
        ]
    if machine["groups_count"] == 1:
        return []
    return [
        Finding(
            "not-coupled",
            "watch",
            f"The sections hang together in {machine['groups_count']} groups that no joint "
            "couples: add joints, or tie them on the spot.",
            ("/machine/groups_count",),
            Measure(machine["groups_count"], 1, "1"),
        )
    ]


def apart_findings(apart: Row, joint_names: Sequence[str]) -> list[Finding]:
    """The order of taking apart, and joints that no straight pull opens."""
    found = []
    locked = apart["locked_joints"]
    if locked:
        names = joined([joint_names[k] for k in locked])
        found.append(
            Finding(
                "joint-locked",
                "stop",
                f"No straight pull opens {names}: rods that run another way, or sections on both "
                "sides, stand in the way. Turn one joint to the axis of the others, or take these "
                "rods out one by one with a gap wide enough for it.",
                tuple(f"/joints/{k}" for k in locked),
                Measure(len(locked), 0, "1"),
            )
        )
    steps = apart["steps"]
    if steps:
        order = "; ".join(
            f"{k + 1}. {joined(step['sections'])} {step['words']} "
            f"({joined([joint_names[j] for j in step['joints']])})"
            for k, step in enumerate(steps[:6])
        )
        more = f"; then {len(steps) - 6} more" if len(steps) > 6 else ""
        hardest = max(steps, key=lambda step: step["force_n"])
        found.append(
            Finding(
                "take-apart-order",
                "ok",
                f"Take it apart in this order: {order}{more}. Slide each straight by "
                f"{mm(steps[0]['slide_mm'])} until the rods are out of one side, then draw them "
                "out of the other: left in, they stick out. The hardest pull takes "
                f"{hardest['force_n']:.0f} N at least, {_people(hardest)}; "
                "work the rods loose one by one first, and it takes less.",
                tuple(f"/taking_apart/steps/{k}" for k in range(len(steps))),
                Measure(round(hardest["force_n"], 3), None, "N"),
            )
        )
    return found


def dropped_findings(dropped: Sequence[str]) -> list[Finding]:
    """Pieces of a cut that no longer face a neighbour of the whole section."""
    if not dropped:
        return []
    return [
        Finding(
            "cut-uncouples",
            "watch",
            f"With the cuts made the hubs at {some(dropped)} no longer face each other, so nothing "
            "couples them there: the piece hangs on its other half alone. Cut the neighbour at the "
            "same height too, or tie them.",
            ("/cuts",),
            Measure(len(dropped), 0, "1"),
        )
    ]


def cut_findings(cut_places: Sequence[Row]) -> list[Finding]:
    """The best place to cut each section that was asked about."""
    found = []
    for number, asked in enumerate(cut_places):
        best = next(p for p in asked["places"] if p["rank"] == 1)
        masses = joined([kg(piece["mass_kg"]) for piece in best["pieces"]])
        twins = ", built alike" if best["alike"] else ""
        parts = [f"{count_of(best['extra_hubs_count'], 'hub')}"]
        parts += [f"{row['count']} {row['rod']}" for row in best["extra_rods"] if row["count"] > 0]
        if best["rigid"]:
            end, level = "both pieces are rigid", "ok"
        else:
            end, level = "neither this nor any other plane leaves two rigid pieces", "watch"
        found.append(
            Finding(
                "best-cut",
                level,
                f"Cut {asked['section']} across {asked['axis']} after bay {best['after_bay']}: "
                f"pieces of {masses}{twins}; {end}. It takes {joined(parts)} more.",
                (f"/cut_places/{number}/best_after_bay",),
                Measure(round(best["heaviest_kg"], 6), None, "kg"),
            )
        )
    return found


def _people(step: Row) -> str:
    return count_of(step["people_count"], "person", "people")
