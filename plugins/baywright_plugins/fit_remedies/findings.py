"""What the builder should know, in a sentence each."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure, Remedy

from ..grid_fit.changes import joined, number_word
from ..grid_fit.findings import mm

Value = Mapping[str, Any]


def all_findings(value: Value, *, little_mm: float) -> list[Finding]:
    """Findings of a whole result; `little_mm`: less room than this is called little."""
    if value["passes"]:
        return [_all_pass(value)]
    found = [_stick(value)]
    ways = value["ways"]
    if not ways:
        found.append(_no_way(value))
    else:
        found += _best(value, ways[0], little_mm)
        found += _identity(value)
    serving = [one for one in value["alternatives"] if one["passes"]]
    if serving:
        found.append(_alternative(value, serving[0]))
    return found


def _all_pass(value: Value) -> Finding:
    tight = min(value["sections"], key=lambda one: one["spare_mm"])
    message = (
        f"{_many(value)} every passage as it is; nothing need be changed. The closest is "
        f"{tight['id']} at {_title(value, tight['passage'])}, {mm(tight['spare_mm'])} mm to spare."
    )
    measure = Measure(tight["spare_mm"], 0.0, "mm")
    return Finding("all-sections-pass", "ok", message, ("/result/sections",), measure)


def _many(value: Value) -> str:
    names = [one["id"] for one in value["sections"]]
    if len(names) == 1:
        return f"Section {names[0]} passes"
    return f"{'Both' if len(names) == 2 else f'All {number_word(len(names))}'} sections pass"


def _stick(value: Value) -> Finding:
    stuck = [(k, one) for k, one in enumerate(value["sections"]) if not one["passes"]]
    worst = min((one for _, one in stuck), key=lambda one: one["spare_mm"])
    names = joined([one["id"] for _, one in stuck])
    ways = value["ways"]
    remedy = Remedy(ways[0]["message"], ways[0]["patch"]) if ways else None
    message = (
        f"{names} {'does' if len(stuck) == 1 else 'do'} not get through the whole route; worst is "
        f"{worst['id']} at {_title(value, worst['passage'])}: {mm(worst['needed_mm'])} mm against "
        f"{mm(worst['allowed_mm'])} mm, {mm(-worst['spare_mm'])} mm too much."
    )
    if remedy:
        message += f" {remedy.message}"
    at = tuple(f"/frame/layout/sections/{k}" for k, _ in stuck)
    measure = Measure(worst["needed_mm"], worst["allowed_mm"], "mm")
    return Finding("sections-stick", "stop", message, at, measure, remedy)


def _no_way(value: Value) -> Finding:
    search = value["search"]
    hopeless = joined(search["hopeless_sections"]) if search["hopeless_sections"] else ""
    if hopeless and search["exhausted"]:
        what = f"Nothing allowed brings {hopeless} through"
    elif search["exhausted"]:
        what = "No set of the changes allowed brings all sections through together"
    else:
        whom = hopeless or "all sections"
        what = f"Nothing that was looked at brings {whom} through; the search is bounded"
    message = (
        f"{what}. Allow more bays (most_bays), more kinds of change (allow), coupled faces that "
        "are not flush (allow_uncoupled), or look at what the venue can do."
    )
    return Finding("no-way-found", "stop", message, ("/result/search",))


def _best(value: Value, best: Value, little_mm: float) -> list[Finding]:
    found = []
    if best["spare_mm"] < little_mm:
        message = (
            f"Even after the best change {best['governing_section']} has only "
            f"{mm(best['spare_mm'])} mm to spare at {_title(value, best['governing_passage'])}; "
            "measure that opening with a tape before you change anything."
        )
        measure = Measure(best["spare_mm"], little_mm, "mm")
        found.append(
            Finding("passes-with-little-to-spare", "watch", message, ("/result/ways/0",), measure)
        )
    if best["left_without_diagonal"]:
        faces = sum(row["faces_count"] for row in best["left_without_diagonal"])
        loose = sum(row.get("mechanisms_count", 0) for row in best["left_without_diagonal"])
        message = (
            f"The best way leaves {faces} faces without a diagonal and {loose} mechanisms; "
            "forbid it (allow_unbraced: false) or add bracing of another kind."
        )
        measure = Measure(faces, 0.0)
        found.append(Finding("bays-unbraced", "stop", message, ("/result/ways/0",), measure))
    if not best["proven_best"]:
        message = (
            f"The best way costs {best['cost']:.0f}; the search was bounded and proves only that "
            f"none costs less than {best['bound']:.0f}. Allow fewer kinds of change or fewer bays "
            "for a proof."
        )
        measure = Measure(best["gap_ratio"], 0.0)
        found.append(Finding("not-proven-best", "watch", message, ("/result/ways/0",), measure))
    if best.get("short"):
        row = max(best["short"], key=lambda row: row["short_count"])
        message = (
            f"The shelf lacks {row['short_count']} {row['item']} for the machine after the best "
            f"change ({row['needed_count']} needed), no more than it does now; order them."
        )
        measure = Measure(row["short_count"], 0.0)
        found.append(Finding("parts-short", "watch", message, ("/result/ways/0",), measure))
    return found


def _identity(value: Value) -> list[Finding]:
    best, identity = value["ways"][0], value.get("identity")
    if identity is None:
        return []
    extra = identity.get("extra_parts_count")
    if best["identity_kept"]:
        cost = "" if not extra else f" That costs {extra} parts more than if they might differ."
        message = f"The best way keeps identical sections identical.{cost}"
        return [Finding("twins-kept", "ok", message, ("/result/identity",), Measure(extra or 0))]
    names = joined(best["twins_broken"])
    keep = (
        f"keeping them alike would cost {extra} parts more"
        if extra is not None
        else "no way keeps them alike"
    )
    message = (
        f"After the best way {names} {'is' if len(best['twins_broken']) == 1 else 'are'} no longer "
        f"like the twin; {keep}. Set keep_identity to see it."
    )
    measure = Measure(len(best["twins_broken"]), 0.0)
    return [Finding("twins-broken", "watch", message, ("/result/ways/0",), measure)]


def _alternative(value: Value, one: Value) -> Finding:
    message = (
        f"Without touching the frame: {one['message']} Then {one['section']} has "
        f"{mm(one['spare_mm'])} mm to spare at {_title(value, one['passage'])}."
    )
    place = value["alternatives"].index(one)
    measure = Measure(one["spare_mm"], 0.0, "mm")
    return Finding("passes-unchanged", "ok", message, (f"/result/alternatives/{place}",), measure)


def _title(value: Value, passage: str) -> str:
    return str(next(row["title"] for row in value["passages"] if row["id"] == passage))


def assumptions(*, most_bays: int, overhang_mm: float) -> Sequence[str]:
    """What an answer takes for granted."""
    return (
        f"Sections count as boxes over their hub ends ({overhang_mm:g} mm beyond the node) and "
        "whatever sticks out; a true outline may pass where a box sticks.",
        f"Ways are made of: up to {most_bays} bays of one row taken out, put in, of one kind "
        "exchanged for another, or handed over at each end; or a row cut in two. At most two rows "
        "of a section are changed and one is cut; the bay nearest the middle is taken.",
        "Of ways that change the same rows in the same manner only the cheapest is listed.",
        "Sections whose beams are given one by one only have bays taken out or exchanged, in one "
        "row.",
        "Coupling rods of joints that stay are left out of the count of parts changed.",
        "Strength is not looked at: check the changed frame before it is lifted.",
    )
