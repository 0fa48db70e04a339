"""Sections and boxes on the route, and the changes that bring through what sticks."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, merge_patch

from ..frame import Frame, frame_of
from ..truss_check.stability import RankUndecided, internal_stability
from .answer_frame import Built
from .changes import Candidate, Change, Stuck, candidates, completed, proven
from .context import Context, Value
from .findings import passage_findings
from .records import change_record, opening_record, stop_record
from .route import Clearances, Passage, at_stop, passage_of
from .sections import outer_hubs_count

#: hubs of all frames built again to prove changes
MOST_HUBS_AGAIN = 20_000

#: above this a section's mechanisms are left to the strength calculator
MOST_HUBS = 4000

Sizes = Mapping[str, Mapping[str, float]]


def route_answers(
    context: Context, here: Built | None, before: Value
) -> tuple[Value, list[Finding]]:
    """Records and findings of everything that moves, at every passage.

    `before` holds what the run has found of the sections so far.
    """
    clearances = clearances_of(context)
    stops = stops_of(context)
    sections = before.get("sections", [])
    outside = {one["id"]: one["outside_mm"] for one in sections}
    outside |= {box["id"]: box["outside_mm"] for box in context.inputs["boxes"]}
    if not stops or not outside:
        return {}, []
    leads = {box["id"]: box.get("led_along") for box in context.inputs["boxes"]}
    value = _rows(stops, outside, clearances, leads)
    changes: list[Change] = []
    if here is not None and not context.inputs.proving:
        changes, left_out = _changes(context, here, {**before, **value}, stops, clearances)
        if changes:
            value["changes"] = [change_record(change) for change in changes]
            value["changes_left_out_count"] = left_out
    kinds = {box["id"]: "Box" for box in context.inputs["boxes"]}
    kinds |= {one["id"]: "Section" for one in sections}
    findings = passage_findings(
        value["passages"],
        {one["id"]: one.get("twin_of", one["id"]) for one in sections},
        {stop.id: stop.title for stop in stops},
        kinds,
        changes,
        over_hubs_mm={one["id"]: one["over_hubs_mm"] for one in sections},
        places=_places(context),
        little_mm=clearances.little_spare_mm,
    )
    return value, findings


def clearances_of(context: Context) -> Clearances:
    return Clearances(**(context.inputs.get("clearances") or {}))


def _places(context: Context) -> dict[str, str]:
    """Where in the inputs each section and box stands."""
    raw = context.inputs.raw
    specs = raw.get("layout", {}).get("sections", [])
    places = {spec["id"]: f"/layout/sections/{k}" for k, spec in enumerate(specs)}
    return places | {box["id"]: f"/boxes/{k}" for k, box in enumerate(raw.get("boxes", []))}


def stops_of(context: Context) -> list[Passage]:
    """The passages of the route, with the room they leave."""
    clearances = clearances_of(context)
    return [_passage(stop, clearances) for stop in context.inputs["passages"]]


def _passage(stop: Mapping[str, Any], clearances: Clearances) -> Passage:
    corner = stop["corner_mm"].tolist() if "corner_mm" in stop else None
    return passage_of(
        id=stop["id"],
        title=stop["title"],
        width_mm=stop["leaf_off_width_mm"] if stop["leaf_off"] else stop.get("width_mm"),
        height_mm=stop.get("height_mm"),
        depth_mm=stop.get("depth_mm"),
        threshold_mm=stop["threshold_mm"],
        corner_mm=None if corner is None else (corner[0], corner[1]),
        clearances=clearances,
    )


def _rows(
    stops: Sequence[Passage],
    outside: Sizes,
    clearances: Clearances,
    leads: Mapping[str, str | None],
) -> Value:
    passages: list[Value] = []
    corners: list[Value] = []
    openings: list[Value] = []
    for stop in stops:
        rows = []
        for name, size in outside.items():
            fare = at_stop(size, stop, clearances, led_along=leads.get(name))
            rows.append(stop_record(name, stop, fare, size))
            corners += rows[-1].pop("corners")
        passages += rows
        openings.append(opening_record(stop, rows))
    value: Value = {"openings": openings, "passages": passages}
    return value | ({"corners": corners} if corners else {})


def _changes(
    context: Context,
    here: Built,
    before: Value,
    stops: Sequence[Passage],
    clearances: Clearances,
) -> tuple[list[Change], int]:
    """Changes that a new run bears out, best first, and how many were not run for want of time."""
    stuck = _stuck(before["passages"], {one["id"] for one in before["sections"]})
    if not stuck:
        return [], 0
    by_id = {stop.id: stop for stop in stops}

    def passes(size: Mapping[str, float], passage: str) -> bool:
        return min(size.values()) > 0 and at_stop(size, by_id[passage], clearances).passes

    def mechanisms(after: Mapping[str, Any], names: Iterable[str]) -> dict[str, int]:
        return _mechanisms(context, after, names)

    raw = {**context.inputs.raw, "layout": here.raw}
    outside = {one["id"]: one["outside_mm"] for one in before["sections"]}
    found = []
    tried = candidates(raw, stuck, outside, context.kit, passes)
    most = _most_tries(here)
    for candidate in tried[:most]:
        patch = _on_inputs(candidate.patch, context, here)
        after = context.rerun(patch)
        change = proven(
            completed(candidate, patch, _exchanged_count(candidate, here)),
            before,
            None if after is None else after.value,
            mechanisms=mechanisms,
            little_spare_mm=clearances.little_spare_mm,
        )
        if change is not None:
            found.append(change)
    return sorted(found, key=lambda change: change.rank), max(len(tried) - most, 0)


def _most_tries(here: Built) -> int:
    """How many changes are proven: each calculates again, so fewer for a large machine."""
    return max(MOST_HUBS_AGAIN // max(len(here.frame.nodes_mm), 1), 4)


def _stuck(rows: Sequence[Mapping[str, Any]], sections: set[str]) -> list[Stuck]:
    by_passage: dict[str, list[Mapping[str, Any]]] = {}
    for row in rows:
        if not row["passes"] and row["section"] in sections:
            by_passage.setdefault(row["passage"], []).append(row)
    worst_first = sorted(
        by_passage.items(), key=lambda item: min(row["spare_mm"] for row in item[1])
    )
    return [
        Stuck(
            passage,
            tuple(row["section"] for row in mine),
            tuple(sorted({row["tight_axis"] for row in mine if "tight_axis" in row})),
        )
        for passage, mine in worst_first
    ]


def _on_inputs(patch: Mapping[str, Any], context: Context, here: Built) -> Mapping[str, Any]:
    """A patch of a generated layout must bring the whole layout along."""
    if "layout" in patch and "layout" not in context.inputs.raw:
        return {**patch, "layout": merge_patch(here.raw, patch["layout"])}
    return patch


def _exchanged_count(candidate: Candidate, here: Built) -> int:
    """Hubs that flush ones take the place of: those of the outer planes across an axis."""
    flush = candidate.kind == "flush-hubs"
    return outer_hubs_count(here.frame, candidate.axis) if flush else 0


def _mechanisms(context: Context, after: Mapping[str, Any], names: Iterable[str]) -> dict[str, int]:
    """Mechanisms of the named sections after a change; twins are looked at once."""
    layout = context.layout(after["frame"]["layout"])
    frame = frame_of({"layout": layout}, context.kit, pointer="")
    number = {section.id: k for k, section in enumerate(frame.sections)}
    sections = {one["id"]: one for one in after["sections"]}
    known: dict[str, int | None] = {}
    found = {}
    for name in names:
        twin = sections[name].get("twin_of", name)
        if sections[twin]["hubs_count"] > MOST_HUBS:
            continue
        if twin not in known:
            known[twin] = _mechanisms_of(frame.part(number[twin]))
        if (count := known[twin]) is not None:
            found[name] = count
    return found


def _mechanisms_of(part: Frame) -> int | None:
    """None where the rank cannot be decided: then the change says nothing of mechanisms."""
    try:
        return internal_stability(part.nodes_mm, part.start, part.end).mechanisms
    except RankUndecided:
        return None
